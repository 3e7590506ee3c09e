"""Runs the code cells of a notebook in order: python3 execute.py NOTEBOOK DIR, DIR being the results of a survey."""

import json
import os
import sys
from pathlib import Path


def main():
    if len(sys.argv) != 3:
        sys.exit(f"usage: {sys.argv[0]} NOTEBOOK DIR")
    notebook, results = sys.argv[1:]
    os.environ["RESULTS"] = results
    cells = json.loads(Path(notebook).read_text(encoding="utf-8"))["cells"]
    names = {"__name__": "__main__"}
    for number, cell in enumerate(cells, start=1):
        if cell["cell_type"] == "code":
            exec(compile("".join(cell["source"]), f"{notebook}, cell {number}", "exec"), names)


main()
