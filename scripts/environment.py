"""Make the project's own Python environment, then run a command in it.

``python3 scripts/environment.py [--dev] ARGUMENT...`` runs Python with those
arguments, for example ``-m bedmodel --help``. The environment is the folder
``.venv`` in the repository, or the one that the variable BEDMODEL_VENV names.
It is made from a lock file the first time, and made again when the lock file
or the Python changes. Needs nothing but Python 3.11+ and its package index.

An old Python must still be able to read this file, to be told that it is old:
no syntax newer than 3.7 here, and no import that is newer.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from typing import Dict, Iterator, List, NoReturn, Optional, Sequence

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
RUNTIME_LOCK = "requirements.lock"
DEVELOPER_LOCK = "requirements-dev.lock"  # everything in RUNTIME_LOCK, and more
OLDEST_PYTHON = (3, 11)

# Both lie in the environment. The first also shows that the folder is ours and
# may be emptied; the second is written last, so it stands for a whole make.
LOCK_NAME = "bedmodel-environment.lock"
MARKER_NAME = "bedmodel-environment.json"


class SetupError(Exception):
    """A reason why there is no environment, as one line for the user."""


def check_python(version: Sequence[int] = sys.version_info[:3]) -> None:
    """Refuse a Python that is too old, naming both versions."""
    if tuple(version[:2]) < OLDEST_PYTHON:
        wanted = ".".join(map(str, OLDEST_PYTHON))
        found = ".".join(map(str, version[:3]))
        raise SetupError(
            f"Python {wanted} or newer is needed, this is {found}; "
            f"run the same command with a newer one, for example python{wanted}"
        )


def check_modules() -> None:
    """Refuse a Python whose system packages leave out the environment maker."""
    for name in ("venv", "ensurepip"):
        if importlib.util.find_spec(name) is None:
            raise SetupError(
                f"this Python comes without its module {name}; install it (Debian and Ubuntu: "
                "apt-get install python3-venv), then run the same command again"
            )


def environment_folder() -> str:
    """Return the folder of the environment, from BEDMODEL_VENV or the default."""
    named = os.environ.get("BEDMODEL_VENV", "")
    return os.path.abspath(os.path.expanduser(named)) if named else os.path.join(ROOT, ".venv")


def environment_python(folder: str) -> str:
    """Return the interpreter inside an environment."""
    parts = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return os.path.join(folder, *parts)


def python_tag() -> str:
    """Name the running Python as far as installed packages depend on it."""
    tag = sys.implementation.cache_tag or sys.implementation.name
    return f"{sys.platform} {tag}{getattr(sys, 'abiflags', '')}"


def lock_hash(lock: str) -> str:
    """Return the hash of a lock file of the repository, whatever its line ends."""
    try:
        with open(os.path.join(ROOT, lock), "rb") as file:
            return hashlib.sha256(file.read().replace(b"\r\n", b"\n")).hexdigest()
    except OSError as error:
        raise SetupError(f"cannot read {lock}: {error.strerror}") from None


def read_marker(folder: str) -> Dict[str, str]:
    """Return what is installed, as hash by lock file; empty when not whole or not fitting."""
    try:
        with open(os.path.join(folder, MARKER_NAME), encoding="utf-8") as file:
            marker = json.load(file)
        fits = marker["python"] == python_tag() and os.path.exists(environment_python(folder))
        return dict(marker["locks"]) if fits else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def write_marker(folder: str, locks: Sequence[str]) -> None:
    """Remember that the environment holds all that the lock files list."""
    marker = {"python": python_tag(), "locks": {lock: lock_hash(lock) for lock in locks}}
    path = os.path.join(folder, MARKER_NAME)
    with open(path + ".new", "w", encoding="utf-8") as file:
        json.dump(marker, file)
    os.replace(path + ".new", path)


def is_ready(folder: str, lock: str) -> bool:
    """Tell whether the environment holds what the lock file lists now."""
    return read_marker(folder).get(lock) == lock_hash(lock)


def check_owned(folder: str) -> None:
    """Refuse a folder that holds something else, since a make empties it."""
    if not os.path.lexists(folder) or os.path.exists(os.path.join(folder, LOCK_NAME)):
        return
    if not os.path.isdir(folder) or os.listdir(folder):
        raise SetupError(
            f"{folder} was not made by this script and is left alone; "
            "remove it, or name another folder in BEDMODEL_VENV"
        )


@contextlib.contextmanager
def locked(folder: str) -> Iterator[int]:
    """Hold the environment against other processes; yield the lock's descriptor."""
    check_owned(folder)
    os.makedirs(folder, exist_ok=True)
    descriptor = os.open(os.path.join(folder, LOCK_NAME), os.O_RDWR | os.O_CREAT, 0o666)
    try:
        if not try_lock(descriptor, wait=False):
            say("waiting for another run, which is making the environment ...")
            try_lock(descriptor, wait=True)
        yield descriptor
    finally:
        os.close(descriptor)  # gives the lock back


def try_lock(descriptor: int, wait: bool) -> bool:
    """Lock an open file for this process; tell whether it is locked now."""
    if sys.platform == "win32":
        import msvcrt

        while True:
            try:
                # Windows waits ten seconds by itself, then gives up.
                msvcrt.locking(descriptor, msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
                return True
            except OSError:
                if not wait:
                    return False
    else:
        import fcntl

        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            return True
        except BlockingIOError:
            return False


def ensure(folder: str, lock: str) -> None:
    """Bring the environment to what the lock file lists; do nothing when it is there."""
    if is_ready(folder, lock):
        return
    check_modules()
    try:
        with locked(folder) as descriptor:
            if not is_ready(folder, lock):  # else another process made it meanwhile
                make(folder, lock, descriptor)
    except OSError as error:
        raise SetupError(
            f"cannot write the environment {folder}: {error.strerror or error}; "
            "name a folder that can be written in BEDMODEL_VENV"
        ) from None


def make(folder: str, lock: str, descriptor: int) -> None:
    """Make the environment, or add the developer's packages to a whole one."""
    if is_ready(folder, RUNTIME_LOCK):
        say("adding the packages for development (first time, about a minute) ...")
    else:
        say("making the environment (first time, about a minute) ...")
        empty(folder)
        run([sys.executable, "-m", "venv", folder], descriptor, "cannot make the environment")
    install = [environment_python(folder), "-m", "pip", "install", "--require-hashes"]
    install += ["--only-binary", ":all:", "--no-input", "--disable-pip-version-check"]
    install += ["-r", os.path.join(ROOT, lock)]
    run(install, descriptor, "cannot install the packages")
    write_marker(folder, [RUNTIME_LOCK] if lock == RUNTIME_LOCK else [RUNTIME_LOCK, lock])
    say("the environment is ready")


def empty(folder: str) -> None:
    """Remove all that an earlier or interrupted make left, the marker first."""
    names = sorted(os.listdir(folder), key=lambda name: name != MARKER_NAME)
    for name in names:
        path = os.path.join(folder, name)
        if name == LOCK_NAME:
            continue
        if os.path.isdir(path) and not os.path.islink(path):
            shutil.rmtree(path)
        else:
            os.remove(path)


def clean_variables() -> Dict[str, str]:
    """Return the process's variables without those that lead an install astray."""
    kept = dict(os.environ)
    for name in ("PYTHONHOME", "PYTHONPATH", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT"):
        kept.pop(name, None)
    kept["PIP_USER"] = "0"
    return kept


def run(command: List[str], descriptor: int, failure: str) -> None:
    """Run a step of the make, showing on a terminal which package it is at."""
    # A child that outlives this process still holds the lock, so that the next
    # run does not empty the folder below it.
    inherited = () if os.name == "nt" else (descriptor,)
    child = subprocess.Popen(
        command,
        env=clean_variables(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        pass_fds=inherited,
    )
    lines: List[str] = []
    for line in child.stdout or ():
        lines.append(line.strip())
        if lines[-1].startswith(("Collecting", "Installing")):
            show_progress("  " + lines[-1])
    show_progress("")
    if child.wait() != 0:
        raise SetupError(f"{failure}: {useful_line(lines)}")


def show_progress(line: str) -> None:
    """Show a step in place of the one before, when a person looks on."""
    if sys.stderr.isatty():
        width = shutil.get_terminal_size().columns - 1
        sys.stderr.write("\r" + line[:width].ljust(width) + ("" if line else "\r"))
        sys.stderr.flush()


def useful_line(lines: Sequence[str]) -> str:
    """Pick from a failed step's output the one line that says why."""
    filled = [line for line in lines if line]
    errors = [line[len("ERROR:") :].strip() for line in filled if line.startswith("ERROR:")]
    reason = (errors or filled or ["no reason given"])[-1]
    if any("Retrying (" in line for line in filled):
        return f"{reason} (the package index did not answer: is the network up?)"
    if "No matching distribution" in reason:
        python = ".".join(map(str, sys.version_info[:2]))
        return f"{reason} (is there a ready-made package for Python {python} on {sys.platform}?)"
    return reason


def run_python(folder: str, arguments: Sequence[str]) -> NoReturn:
    """Become the environment's Python with these arguments; on Windows, wait for it."""
    python = environment_python(folder)
    variables = dict(os.environ, PYTHONPATH=ROOT)
    variables.pop("PYTHONHOME", None)
    sys.stdout.flush()
    sys.stderr.flush()
    command = [python, *arguments]
    if os.name != "nt":
        os.execve(python, command, variables)
    child = subprocess.Popen(command, env=variables)
    while True:
        with contextlib.suppress(KeyboardInterrupt):  # the child gets it too, and decides
            sys.exit(child.wait())


def say(text: str) -> None:
    """Tell the user about the environment, apart from the command's own output."""
    print(text, file=sys.stderr, flush=True)


def start(lock: str, arguments: Sequence[str]) -> NoReturn:
    """Make the environment if need be and run its Python; exit 2 when there is none."""
    folder = environment_folder()
    try:
        check_python()
        ensure(folder, lock)
        run_python(folder, arguments)
    except SetupError as error:
        say(f"error: {error}")
        sys.exit(2)
    except KeyboardInterrupt:
        say("interrupted; the next run makes the environment whole")
        sys.exit(130)
    except OSError as error:
        say(f"error: cannot start {environment_python(folder)}: {error.strerror or error}")
        sys.exit(2)


def main(arguments: Optional[Sequence[str]] = None) -> NoReturn:
    """Run Python in the environment, with ``--dev`` in the developer's."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    lock = RUNTIME_LOCK
    if given[:1] == ["--dev"]:
        lock, given = DEVELOPER_LOCK, given[1:]
    start(lock, given)


if __name__ == "__main__":
    main()
