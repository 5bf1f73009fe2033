"""Run the command line as ``python -m bedmodel``."""

from __future__ import annotations

from bedmodel.cli import entry

if __name__ == "__main__":
    entry()
