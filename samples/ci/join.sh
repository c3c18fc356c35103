#!/bin/sh
# After all machines are done: one document of all shares, as one run would have written it, and its exit code.
#   join.sh share-1.json share-2.json …
# Leaves findings.sarif and junit.xml.
set -eu
failed=0
ohmward check --join --fail-at never --as sarif -o findings.sarif "$@" || failed=$?
ohmward check --join --fail-at never --as junit -o junit.xml "$@" || failed=$?
ohmward check --join --as lines "$@" || exit $?
exit "$failed"
