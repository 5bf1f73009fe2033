"""Build everything for one bed: the model, the proof and the shop papers.

``python3 scripts/regenerate.py [--size NAME] ...`` makes the environment the
first time, then does ``bedmodel build`` with the same arguments.
"""

from __future__ import annotations

import sys

import environment

if __name__ == "__main__":
    environment.start(environment.RUNTIME_LOCK, ["-m", "bedmodel", "build", *sys.argv[1:]])
