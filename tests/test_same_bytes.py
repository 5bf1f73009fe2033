"""Same sheet, same bytes; and a build that dies leaves what was there before.

Builds run in fresh processes with all that must not matter made different: the seed of
Python's hashes, the folder, the time zone, the language. Kills come when the build is
seen, from outside, to have reached a stage; the oracle is the file tree.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from bedmodel import cli
from bedmodel.sheets import shared_folder

ROOT = Path(__file__).resolve().parent.parent
SETTLE_S = 10.0
GIVE_UP_S = 120.0
NAMES = {"hawthorn": "hawthorn-eu-160x200", "campion": "campion-us-queen"}
HERE = {"PYTHONHASHSEED": "1", "TZ": "Pacific/Auckland", "LC_ALL": "C", "LANG": "C"}
THERE = {
    "PYTHONHASHSEED": "4242",
    "TZ": "America/St_Johns",
    "LC_ALL": "tr_TR.UTF-8",
    "LANG": "de_DE.UTF-8",
    "HOME": "/nonexistent",
    "OMP_NUM_THREADS": "1",
}
needs_kill = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")

Tree = dict[str, bytes]


def tree(folder: Path) -> Tree:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def start(*arguments: str, cwd: Path, **more: str) -> subprocess.Popen[str]:
    environment = {k: v for k, v in os.environ.items() if not k.startswith("LC_")}
    return subprocess.Popen(
        [sys.executable, "-m", "bedmodel", "build", "--only", "quick", *arguments],
        cwd=cwd,
        env={**environment, "PYTHONPATH": str(ROOT), **more},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        # Tests run in the background of a shell inherit a SIGINT that is ignored.
        preexec_fn=_heed_interrupts if os.name == "posix" else None,
    )


def _heed_interrupts() -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def finish(process: subprocess.Popen[str]) -> None:
    _, errors = process.communicate(timeout=GIVE_UP_S)
    assert (process.returncode, errors) == (0, "")


# --- same bytes -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bytes")


@pytest.fixture(scope="module")
def fresh(folder: Path) -> Callable[[str], tuple[Tree, Tree]]:
    """Return a function that builds an example in two processes and returns both trees."""
    made: dict[str, tuple[Tree, Tree]] = {}

    def build(example: str) -> tuple[Tree, Tree]:
        if example not in made:
            made[example] = build_twice(folder / example, example)
        return made[example]

    return build


def build_twice(folder: Path, example: str) -> tuple[Tree, Tree]:
    one, other = folder / "one", folder / "deeper" / "the other place"
    one.mkdir(parents=True)
    other.mkdir(parents=True)
    copied = other / "a copy.toml"
    shutil.copy(shared_folder() / f"{example}.toml", copied)
    runs = [
        start(example, cwd=one, **HERE),
        start(copied.name, "--out", str(other / "made here"), cwd=other, **THERE),
    ]
    for process in runs:
        finish(process)
    return tree(one / "out" / NAMES[example]), tree(other / "made here" / NAMES[example])


@pytest.mark.parametrize("example", list(NAMES))
def test_two_processes_write_the_same_bytes(
    example: str, fresh: Callable[[str], tuple[Tree, Tree]]
) -> None:
    one, other = fresh(example)
    assert list(one) == list(other)
    assert [path for path in one if one[path] != other[path]] == []
    endings = {Path(path).suffix for path in one}
    assert {".step", ".dxf", ".stl", ".glb", ".json", ".txt"} <= endings


@pytest.mark.parametrize("example", list(NAMES))
def test_the_manifest_holds_every_file_with_its_hash(
    example: str, fresh: Callable[[str], tuple[Tree, Tree]]
) -> None:
    one, other = fresh(example)
    told = {file["path"]: file for file in json.loads(one["manifest.json"])["files"]}
    assert set(told) == set(one) - {"manifest.json"}
    for path, file in told.items():
        assert file["sha256"] == hashlib.sha256(other[path]).hexdigest(), path
        assert file["bytes"] == len(other[path])


def test_different_beds_are_different_bytes(fresh: Callable[[str], tuple[Tree, Tree]]) -> None:
    hawthorn, campion = fresh("hawthorn")[0], fresh("campion")[0]
    shared = {path for path in hawthorn if hawthorn[path] == campion.get(path)}
    # Both hang on the same hook plates, which are bought, not made.
    plates = {f"{name}_plate.{kind}" for name in ("hook", "slot") for kind in ("step", "stl")}
    assert {Path(path).name for path in shared} == plates


def test_nothing_of_the_place_or_the_day_is_in_the_files(
    folder: Path, fresh: Callable[[str], tuple[Tree, Tree]]
) -> None:
    """Two builds of one day on one machine could share these and still be alike."""
    words = [str(folder), str(ROOT), os.uname().nodename if hasattr(os, "uname") else "\0\0"]
    # The current year and month, as file formats write dates.
    words += [time.strftime(form) for form in ("%Y-%m", "%Y:%m", "%d.%m.%Y")]
    for path, data in fresh("hawthorn")[0].items():
        found = [word for word in words if len(word) > 6 and word.encode() in data]
        assert found == [], path


def test_a_bed_made_before_leaves_no_mark(
    tmp_path: Path, fresh: Callable[[str], tuple[Tree, Tree]]
) -> None:
    """As when all sizes are built: one process makes several beds, one after the other."""
    code = (
        "import sys\nfrom bedmodel.cli import main\n"
        "quick = ['--only', 'quick']\n"
        "sys.exit(main(['build', 'sorrel', *quick]) or main(['build', 'hawthorn', *quick]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "7"},
        capture_output=True,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    again = tree(tmp_path / "out" / NAMES["hawthorn"])
    first = fresh("hawthorn")[0]
    assert list(again) == list(first)
    assert [path for path in first if first[path] != again[path]] == []


# --- a build that dies ------------------------------------------------------------------


def staged(out: Path) -> Iterator[Path]:
    """The folders that a running build is filling, as seen from outside."""
    for area in out.glob(".bedmodel-*"):
        yield from area.glob("new/*")


def holds(*names: str) -> Callable[[Path], bool]:
    return lambda out: any((folder / name).exists() for folder in staged(out) for name in names)


# What is seen from outside when the signal is sent.
STAGES: dict[str, Callable[[Path], bool]] = {
    "hidden folder": lambda out: any(out.glob(".bedmodel-*")),
    "first STEP": holds("model/bed.step"),
    "meshes": holds("model/stl", "model/bed.glb"),
    "templates": holds("templates"),
    "manifest": holds("manifest.json"),
}


def wait_for(seen: Callable[[Path], bool], out: Path, process: subprocess.Popen[str]) -> None:
    end = time.monotonic() + GIVE_UP_S
    while process.poll() is None and time.monotonic() < end:
        with suppress(OSError):  # what is looked at may be moved meanwhile
            if seen(out):
                return
        time.sleep(0.0005)


def settle(out: Path, names: list[str]) -> None:
    """Wait until only ``names`` are left: the guard of a dead build tidies up after it."""
    end = time.monotonic() + SETTLE_S
    while sorted(os.listdir(out)) != names and time.monotonic() < end:
        time.sleep(0.01)
    assert sorted(os.listdir(out)) == names


@pytest.fixture
def older(tmp_path: Path, fresh: Callable[[str], tuple[Tree, Tree]]) -> tuple[Path, Tree]:
    """Return an output folder with an older output in hawthorn's place, and its tree."""
    old = {**fresh("campion")[0], "notes.txt": b"of an older build"}
    out = tmp_path / "out"
    for path, data in old.items():
        (out / NAMES["hawthorn"] / path).parent.mkdir(parents=True, exist_ok=True)
        (out / NAMES["hawthorn"] / path).write_bytes(data)
    return out, old


@needs_kill
@pytest.mark.parametrize("stage", list(STAGES))
def test_a_killed_build_leaves_the_older_one_whole(
    stage: str, older: tuple[Path, Tree], fresh: Callable[[str], tuple[Tree, Tree]]
) -> None:
    out, old = older
    process = start("hawthorn", "--out", str(out), cwd=out.parent)
    wait_for(STAGES[stage], out, process)
    process.kill()
    process.communicate(timeout=GIVE_UP_S)
    settle(out, [NAMES["hawthorn"]])
    left = tree(out / NAMES["hawthorn"])
    if stage == "manifest":  # the move itself may be done by then, or even the run
        assert left in (old, fresh("hawthorn")[0])
    else:
        assert process.returncode == -signal.SIGKILL
        assert left == old
    assert os.listdir(out.parent) == ["out"]


@needs_kill
def test_a_first_build_that_is_killed_leaves_nothing(tmp_path: Path) -> None:
    process = start("hawthorn", "--out", "a/b/out", cwd=tmp_path)
    wait_for(STAGES["first STEP"], tmp_path / "a" / "b" / "out", process)
    process.kill()
    process.communicate(timeout=GIVE_UP_S)
    assert process.returncode == -signal.SIGKILL
    settle(tmp_path, [])


@needs_kill
def test_a_stopped_build_says_so_in_one_line(older: tuple[Path, Tree]) -> None:
    out, old = older
    process = start("hawthorn", "--out", str(out), cwd=out.parent)
    wait_for(STAGES["first STEP"], out, process)
    process.send_signal(signal.SIGINT)
    told, errors = process.communicate(timeout=GIVE_UP_S)
    assert (process.returncode, told) == (130, "")
    assert errors == "bedmodel: stopped; nothing was changed\n"
    assert os.listdir(out) == [NAMES["hawthorn"]]
    assert tree(out / NAMES["hawthorn"]) == old


# --- a place that cannot be written ----------------------------------------------------------

# In a file system of its own, seen by no other process and gone with this one.
ON_SMALL_DISK = """
set -eu
mount -t tmpfs -o size=1m none small
cp -r older/. small
if [ "$1" = read-only ]; then mount -o remount,ro small; fi
shift
code=0; "$@" > told 2>&1 || code=$?
echo "$code" > code
cp -r small after
"""
UNSHARE = ("unshare", "--user", "--map-root-user", "--mount", "sh", "-c")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="mounts as Linux does")
@pytest.mark.parametrize(
    ("disk", "reason", "remedy"),
    [
        ("read-only", "the file system is read-only", "choose another output folder"),
        ("full", "the disk is full", "free some space or choose another output folder"),
    ],
)
def test_a_disk_that_takes_no_more_ends_with_3_and_the_older_output(
    disk: str, reason: str, remedy: str, tmp_path: Path
) -> None:
    """The bed needs some 3 MB, and the disk has one."""
    older = tmp_path / "older" / NAMES["hawthorn"]
    older.mkdir(parents=True)
    (older / "manifest.json").write_text("{}", "utf-8")
    (older / "notes.txt").write_text("of an older build", "utf-8")
    (tmp_path / "small").mkdir()
    probe = [*UNSHARE, "mount -t tmpfs none small"]
    if not shutil.which("unshare") or subprocess.run(probe, cwd=tmp_path).returncode != 0:
        pytest.skip("this system lets nobody mount a file system of their own")
    build = [
        sys.executable,
        "-m",
        "bedmodel",
        "build",
        "hawthorn",
        "--only",
        "quick",
        "--out",
        "small",
    ]
    done = subprocess.run(
        [*UNSHARE, ON_SMALL_DISK, "sh", disk, *build],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "code").read_text("utf-8") == "3\n"
    told = (tmp_path / "told").read_text("utf-8")
    place = re.escape(str(Path("small", NAMES["hawthorn"])))
    assert re.fullmatch(rf"bedmodel: cannot write {place}: {reason}( \(.+\))?; {remedy}\n", told)
    assert os.listdir(tmp_path / "after") == [NAMES["hawthorn"]]
    assert tree(tmp_path / "after") == tree(tmp_path / "older")


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs a folder that takes no files")
def test_a_folder_that_takes_no_files_ends_with_3(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["build", "sorrel", "--only", "quick", "--out", "/proc/bedmodel"]) == 3
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert told.err.startswith("bedmodel: cannot write /proc/bedmodel/sorrel-eu-90x200: ")


def test_what_the_tool_did_not_make_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "sorrel-eu-90x200" / "mine.txt"
    mine.parent.mkdir()
    mine.write_text("years of work", "utf-8")
    assert cli.main(["build", "sorrel", "--only", "quick", "--out", str(tmp_path)]) == 3
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert "a folder that this tool did not make" in told.err
    assert tree(tmp_path) == {"sorrel-eu-90x200/mine.txt": b"years of work"}
