#!/bin/sh
# What a change does to each design that it touches, as one comment for who reviews it.
#   review.sh BASE HEAD
# Leaves review.md in the repository's own folder. Run it inside the repository; both revisions have to be there.
set -eu
base=$1
head=$2
cd "$(git rev-parse --show-toplevel)"
# Names as they are, without quotes around what is not ASCII.
designs=$(git -c core.quotePath=false diff --name-only --diff-filter=M "$base" "$head" -- '*.loom')
: > review.md
printf '%s' "${designs:+$designs
}" | while IFS= read -r design; do
    ohmward compare --git "$base..$head" "$design" --as markdown >> review.md
done
