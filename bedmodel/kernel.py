"""Load the solid modeller, and say what the system lacks when it will not load."""

from __future__ import annotations

import importlib
import re
from types import ModuleType
from typing import NamedTuple

from bedmodel.errors import MissingLibrary


class Package(NamedTuple):
    """The names under which Linux families package one shared library."""

    debian: str
    fedora: str
    arch: str


# Source: the libraries that the solid modeller's binary packages link to but do
# not bring along, and the package lists of the three families.
_PACKAGES = {
    "libGL.so.1": Package("libgl1", "mesa-libGL", "libglvnd"),
    "libEGL.so.1": Package("libegl1", "mesa-libEGL", "libglvnd"),
    "libX11.so.6": Package("libx11-6", "libX11", "libx11"),
    "libXrender.so.1": Package("libxrender1", "libXrender", "libxrender"),
    "libexpat.so.1": Package("libexpat1", "expat", "expat"),
    "libgomp.so.1": Package("libgomp1", "libgomp", "gcc-libs"),
    "libstdc++.so.6": Package("libstdc++6", "libstdc++", "gcc-libs"),
    "libz.so.1": Package("zlib1g", "zlib", "zlib"),
}

_MISSING = re.compile(r"(?P<library>[^\s:/]+\.so[.\d]*): cannot open shared object file")


def load() -> ModuleType:
    """Return the solid modeller, importing it the first time (seconds, half a gigabyte).

    Raises MissingLibrary, in one line with the remedy, when it is not installed or
    lacks a library of the operating system; any other failure passes unchanged.
    """
    try:
        return importlib.import_module("cadquery")
    except ModuleNotFoundError as error:
        raise MissingLibrary(_not_installed(error.name or "cadquery")) from error
    except ImportError as error:
        remedy = _remedy(str(error))
        if remedy is None:
            raise
        raise MissingLibrary(remedy) from error


def _not_installed(module: str) -> str:
    state = "is not installed" if module == "cadquery" else f"lacks its module {module}"
    return (
        f"the solid modeller cadquery {state}: run python3 scripts/regenerate.py, "
        "which makes a whole environment, or install bedmodel again with pip"
    )


def _remedy(reason: str) -> str | None:
    if "DLL load failed" in reason:
        return (
            "the solid modeller cannot be loaded: install the Microsoft Visual C++ "
            "Redistributable (2015 or newer, x64), then run the same command again"
        )
    found = _MISSING.search(reason)
    if found is None:
        return None
    library = found["library"]
    return f"the system library {library} is missing: {_install(library)}"


def _install(library: str) -> str:
    package = _PACKAGES.get(library)
    if package is None:
        return f"install the package of your system that contains {library}"
    return (
        f"install {package.debian} (Debian and Ubuntu: apt-get install {package.debian}), "
        f"{package.fedora} (Fedora) or {package.arch} (Arch); "
        "Alpine is not supported, as the solid modeller has no build for musl"
    )
