"""All checks in one go: ``python -m tests.check``; ``--no-tests`` leaves the tests out.

Format, lint, types, import contracts, then the tests with branch coverage.
Stops at the first that fails.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

PYTHON = sys.executable
LINT_IMPORTS = str(Path(PYTHON).with_name("lint-imports"))

CHECKS = (
    ("format", [PYTHON, "-m", "ruff", "format", "--check", "."]),
    ("lint", [PYTHON, "-m", "ruff", "check", "."]),
    ("types", [PYTHON, "-m", "mypy"]),
    ("import contracts", [LINT_IMPORTS]),
)
TESTS = ("tests", [PYTHON, "-m", "pytest", "--cov", "-n", "auto"])


def main() -> int:
    checks = CHECKS if "--no-tests" in sys.argv else (*CHECKS, TESTS)
    for name, words in checks:
        print(f"== {name}", flush=True)
        code = subprocess.run(words, check=False).returncode
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
