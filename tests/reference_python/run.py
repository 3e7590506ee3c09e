"""Runs every check of this folder against one demo run: python run.py DEMO, where DEMO holds corpus/ and results/."""

import importlib
import sys
import traceback
from pathlib import Path

from demo_run import DemoRun

MODULES = ["check_axis", "check_sections", "check_sizes", "check_truth", "check_filter", "check_form", "check_association", "check_groups", "check_false_discovery", "check_screening"]


def main() -> int:
    run = DemoRun(Path(sys.argv[1]))
    passed = failed = 0
    for module in MODULES:
        for name, check in vars(importlib.import_module(module)).items():
            if not name.startswith("check_"):
                continue
            try:
                said = check(run)
            except Exception:  # noqa: BLE001 - one broken check must not hide the others
                failed += 1
                print(f"FAILED {module}.{name}")
                traceback.print_exc(file=sys.stdout)
            else:
                passed += 1
                print(f"ok {module}.{name}: {said}")
    print(f"reference: {passed} passed; {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
