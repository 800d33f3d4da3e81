#!/bin/sh
# The same for any other system that runs a shell: checks a knowledge base, and ends as ruleout does:
# 0 fine, 1 the knowledge base has errors, 2 it could not run.
#   lint.sh [KB [OPTION ...]]       for example: lint.sh kb --strict
# As a plain git hook: put the last lines into .git/hooks/pre-commit and make that executable.

kb=${1:-kb}
[ $# -gt 0 ] && shift

ruleout lint "$kb" "$@"
code=$?
case $code in
  0) ;;
  1) echo "The knowledge base has errors: mend them and try again. \`ruleout why RULE\` explains one." >&2 ;;
  *) echo "The check could not run." >&2 ;;
esac
exit $code
