"""Which program this is, down to its files: what is kept from one run to the next hangs on it."""

from __future__ import annotations

import functools
import hashlib
import importlib.metadata
from pathlib import Path

from bedmodel import __version__

# Files are written and figures worked out with these, so that their versions count.
LIBRARIES = (
    *("cadquery", "cadquery-ocp", "ezdxf", "numpy", "pillow", "reportlab", "shapely", "highspy"),
)


@functools.cache
def program_stamp() -> str:
    """Its version, the hash of its files, and its libraries.

    Text files count alike whatever their line ends, so that a checkout on another system is the
    same program.
    """
    package = Path(__file__).resolve().parent
    digest = hashlib.sha256()
    for path in sorted(package.rglob("*"), key=Path.as_posix):
        inside = path.relative_to(package)
        skipped = inside.parts[0] == "shared" or "__pycache__" in inside.parts
        if not skipped and path.is_file():
            digest.update(f"{inside.as_posix()}\0".encode())
            digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    libraries = " ".join(f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES)
    return f"bedmodel {__version__} {digest.hexdigest()[:16]}; {libraries}"
