#!/usr/bin/env bash
# Runs the notebook on the results of a survey: tests/notebook.sh DIR
# The environment is made once in target/notebook-venv and made anew when the pinned versions change.
set -euo pipefail

if [ $# -ne 1 ]; then
    echo "usage: $0 DIR" >&2
    exit 2
fi
results=$(cd "$1" && pwd)
cd "$(dirname "$0")/.."
environment=${CARGO_TARGET_DIR:-target}/notebook-venv

if ! cmp -s notebooks/requirements.txt "$environment/requirements.txt"; then
    rm -rf "$environment"
    python3 -m venv "$environment"
    "$environment/bin/pip" install --quiet --disable-pip-version-check -r notebooks/requirements.txt
    cp notebooks/requirements.txt "$environment/requirements.txt"
fi

rm -rf "$results/notebook-figures"
"$environment/bin/python" notebooks/execute.py notebooks/maps.ipynb "$results"
for figure in form-map.svg form-map.png precision-map.svg precision-map.png; do
    if [ ! -s "$results/notebook-figures/$figure" ]; then
        echo "missing figure: $figure" >&2
        exit 1
    fi
done
echo "notebook: figures redrawn in $1/notebook-figures"
