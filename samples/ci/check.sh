#!/bin/sh
# Judges every design of a repository. For any service that runs a shell, or by hand; nothing but `ohmward` is needed.
#   check.sh [FOLDER [REPORTS]]
# Leaves in REPORTS (without it, reports/): findings.sarif for services that show findings beside the text, junit.xml for
# those that list tests. Ends with the exit code of `ohmward check`: 0 right, 1 findings, 2 something was not judged.
set -eu
folder=${1:-.}
reports=${2:-reports}
mkdir -p "$reports"

# Findings that the fleet has had from before are listed in known-findings, beside the designs: only new ones fail. To take
# those of today: ohmward check --write-known known-findings .
known=
if [ -f "$folder/known-findings" ]; then known="--known $folder/known-findings"; fi

# Two forms for two readers, then the lines for the log, which decide. $known is left open: it is two words or none.
# shellcheck disable=SC2086
ohmward check $known --fail-at never --as sarif -o "$reports/findings.sarif" "$folder" || [ $? -ne 1 ]
# shellcheck disable=SC2086
ohmward check $known --fail-at never --as junit -o "$reports/junit.xml" "$folder" || [ $? -ne 1 ]
# shellcheck disable=SC2086
exec ohmward check $known --as lines "$folder"
