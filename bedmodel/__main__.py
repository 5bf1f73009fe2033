"""Run the command line as ``python -m bedmodel``."""

from __future__ import annotations

import sys

from bedmodel.cli import main

if __name__ == "__main__":
    sys.exit(main())
