#!/bin/sh
# Judges every design of a repository. For any service that runs a shell, or by hand; nothing but `ohmward` is needed.
#   check.sh [FOLDER [REPORTS]]
# Leaves in REPORTS (without it, reports/): findings.sarif for services that show findings beside the text, junit.xml for
# those that list tests. Ends with the exit code of `ohmward check`: 0 right, 1 findings, 2 something was not judged.
set -eu
folder=${1:-.}
reports=${2:-reports}
mkdir -p "$reports"

# Findings that the fleet has had from before are listed in FOLDER/known-findings: only new ones fail. To take those of
# today: ohmward check --write-known FOLDER/known-findings FOLDER
set --
if [ -f "$folder/known-findings" ]; then set -- --known "$folder/known-findings"; fi

# Two forms for two readers, then the lines for the log, which decide. What could not be judged is told by each; a report
# that could not be written fails too.
failed=0
ohmward check "$@" --fail-at never --as sarif -o "$reports/findings.sarif" "$folder" || failed=$?
ohmward check "$@" --fail-at never --as junit -o "$reports/junit.xml" "$folder" || failed=$?
ohmward check "$@" --as lines "$folder" || exit $?
exit "$failed"
