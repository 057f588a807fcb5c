#!/usr/bin/env bash
# Runs every test and closes with one line: N passed, N failed.
# Installs by apt what the interop and browser tests need where it may (root, apt at hand); elsewhere it says what to install, and
# those tests skip with a reason. Environment: CONFIGURATION (default Release).
set -euo pipefail
cd "$(dirname "$0")/.."
configuration=${CONFIGURATION:-Release}
export DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_NOLOGO=1 DOTNET_SKIP_FIRST_TIME_EXPERIENCE=1

# command -> Debian package
declare -A tools=([socat]=socat [mosquitto]=mosquitto [mosquitto_sub]=mosquitto-clients [chromium]=chromium [sqlite3]=sqlite3)
missing=()
for tool in "${!tools[@]}"; do command -v "$tool" >/dev/null 2>&1 || [ -x "/usr/sbin/$tool" ] || missing+=("${tools[$tool]}"); done
if [ ${#missing[@]} -gt 0 ]; then
  if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "Installing for the interop and browser tests: ${missing[*]}"
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" fonts-dejavu-core; } >/dev/null \
      || echo "Could not install ${missing[*]}; the tests that need them will skip."
  else
    echo "Some tests will skip. To run them all install: ${missing[*]}"
  fi
fi

results=artifacts/test-results
rm -rf "$results"
dotnet build CellWatch.sln -c "$configuration" -v q
status=0
# One project after the other: the tests of ports, brokers and browsers should not wait for each other on two cores.
dotnet test CellWatch.sln -c "$configuration" --no-build -m:1 --logger trx --results-directory "$results" -v m || status=$?

if ! compgen -G "$results/*.trx" >/dev/null; then echo "No test result was written."; echo "0 passed, 1 failed"; exit 1; fi
sum() { grep -hoE "<Counters [^>]*>" "$results"/*.trx | grep -oE " $1=\"[0-9]+\"" | grep -oE '[0-9]+' | awk '{n+=$1} END {print n+0}'; }
total=$(sum total); executed=$(sum executed); passed=$(sum passed); failed=$(sum failed)
skipped=$((total - executed))
if [ "$skipped" -gt 0 ]; then
  echo "$skipped skipped, with these reasons:"
  { grep -hA8 'outcome="NotExecuted"' "$results"/*.trx | grep -oE '<(Message|StdOut)>[^<]+' | sed -E 's/<[^>]+>//' | sort | uniq -c | sort -rn | sed 's/^/  /'; } || true
fi
[ "$passed" -gt 0 ] || status=1
[ "$failed" -eq 0 ] || status=1
if [ "$status" -ne 0 ] && [ "$failed" -eq 0 ]; then failed=1; fi
echo "$passed passed, $failed failed"
exit "$status"
