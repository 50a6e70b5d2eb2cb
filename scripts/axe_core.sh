#!/usr/bin/env bash
# Puts axe-core, which looks for what keeps people from using a page, into FOLDER and prints where its script is.
# usage: axe_core.sh FOLDER. Exit code 1, with a reason, where it cannot be had.
set -euo pipefail
folder=${1:?usage: axe_core.sh FOLDER}
script=$folder/node_modules/axe-core/axe.min.js
if [ ! -s "$script" ]; then
  command -v npm >/dev/null || { echo "npm is not installed" >&2; exit 1; }
  mkdir -p "$folder"
  npm install --prefix "$folder" --no-save --no-audit --no-fund --ignore-scripts --silent axe-core@4.11.0 >&2 ||
    { echo "npm cannot fetch axe-core" >&2; exit 1; }
fi
echo "$script"
