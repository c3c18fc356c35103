#!/bin/sh
# What a change does to each design that it edits, as one comment in Markdown for who reviews it.
#   review.sh BASE HEAD
# Leaves review.md in the repository's own folder. What HEAD has changed since it left BASE is told, not what BASE has
# changed since. Files that are new or taken away and libraries are named; `ohmward check` judges the designs that use them.
# Run it inside the repository; both revisions have to be there. Ends with 2 where a design cannot be compared.
set -eu
base=$1
head=$2
cd "$(git rev-parse --show-toplevel)"
tab=$(printf '\t')
# Names as they are, without quotes around what is not ASCII; what has another name is one file less and one more.
changes=$(git -c core.quotePath=false diff --name-status --no-renames "$base...$head" -- '*.loom')
: > review.md
printf '%s' "${changes:+$changes
}" | {
    failed=0
    while IFS=$tab read -r how file; do
        case $how in
        A) printf '`%s` is new.\n\n' "$file" ;;
        D) printf '`%s` is taken away.\n\n' "$file" ;;
        *)
            if git show "$head:$file" | grep -q '^[[:space:]]*library[[:space:]]'; then
                printf '`%s` is a library, and is changed.\n\n' "$file"
            elif told=$(ohmward compare --git "$base...$head" "$file" --as markdown); then
                printf '%s\n\n' "$told"
            else
                failed=2
                printf '`%s` cannot be compared:\n\n```text\n%s\n```\n\n' "$file" "$told"
            fi
            ;;
        esac
    done >> review.md
    exit "$failed"
}
