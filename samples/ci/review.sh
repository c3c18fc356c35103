#!/bin/sh
# What a change does to each design that it touches, as one comment for who reviews it.
#   review.sh BASE HEAD
# Leaves review.md. Run it inside the repository; both revisions have to be there.
set -eu
base=$1
head=$2
: > review.md
git diff --name-only --diff-filter=M "$base" "$head" -- '*.loom' | while IFS= read -r design; do
    ohmward compare --git "$base..$head" "$design" --as markdown >> review.md
done
