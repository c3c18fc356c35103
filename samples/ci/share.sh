#!/bin/sh
# One of several machines that judge a large fleet together: machine N of M.
#   share.sh N M [FOLDER]
# Leaves share-N.json; keep it for join.sh. Findings do not fail here, they fail where the shares are joined; what could
# not be judged does. Findings listed in FOLDER/known-findings are marked as known, as by check.sh.
set -eu
number=$1
machines=$2
folder=${3:-.}
set --
if [ -f "$folder/known-findings" ]; then set -- --known "$folder/known-findings"; fi
ohmward check "$@" --share "$number/$machines" --fail-at never --as json -o "share-$number.json" "$folder"
