#!/bin/sh
# After all machines are done: one document of all shares, as one run would have written it, and its exit code.
#   join.sh share-1.json share-2.json …
set -eu
ohmward check --join --fail-at never --as sarif -o findings.sarif "$@"
exec ohmward check --join --as lines "$@"
