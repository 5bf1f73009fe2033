"""Run the project's tests in its own environment.

``python3 scripts/run_tests.py [ARGUMENT...]`` makes the environment the first
time, then runs pytest from the repository's root with the same arguments.
"""

from __future__ import annotations

import os
import sys
from typing import List, Sequence

import environment

# Each worker loads the solid modeller: half a gigabyte.
SPREAD = ["-n", "logical", "--maxprocesses", "4"]


def pytest_arguments(given: Sequence[str]) -> List[str]:
    """Spread the tests over the cores, unless the user has decided otherwise."""
    decided = ("-n", "--numprocesses", "--dist", "--pdb", "--trace", "-pno:xdist", "no:xdist")
    return [*([] if any(a.startswith(decided) for a in given) else SPREAD), *given]


if __name__ == "__main__":
    os.environ["BEDMODEL_VENV"] = environment.environment_folder()  # before the folder changes
    os.chdir(environment.ROOT)
    environment.start(environment.DEVELOPER_LOCK, ["-m", "pytest", *pytest_arguments(sys.argv[1:])])
