"""A run's output is there whole or not at all, however the run ends.

The oracle of most tests is the file tree itself, read after the run: it equals
the tree written before or the new one, and nothing else lies beside it. Deaths
are real: a forked child runs the real code and sends itself a signal when it
has come to a given line of it.
"""

from __future__ import annotations

import errno
import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest

from bedmodel.errors import BedmodelError, InputError, WriteError
from bedmodel.exports import guard, publish, staging, swap
from bedmodel.exports.publish import fresh_folder, write_bytes, write_file, write_text

EXPORTS = str(Path(publish.__file__).parent)
SETTLE_S = 20.0
AREA = ".bedmodel-0123456789ab"
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
needs_links = pytest.mark.skipif(os.name == "nt", reason="links need a privilege on Windows")


def run(
    out: Path, text: str, name: str = "bed", then: Callable[[Path], object] = lambda folder: None
) -> None:
    """Publish a small output; ``then`` may spoil it before the end."""
    with fresh_folder(out, name) as folder:
        fill(folder, text)
        then(folder)


def fill(folder: Path, text: str) -> None:
    for path in ("manifest.json", "plan.pdf", "model/bed.step", "model/stl/leg.stl"):
        write_text(folder / path, f"{text} {path}")


def tree(folder: Path) -> dict[str, bytes]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def written(text: str) -> dict[str, bytes]:
    paths = ("manifest.json", "plan.pdf", "model/bed.step", "model/stl/leg.stl")
    return {path: f"{text} {path}".encode() for path in paths}


def settle(folder: Path, allowed: Callable[[list[str]], bool]) -> list[str]:
    """Wait until the guard has done its work; return the names then in the folder."""
    end = time.monotonic() + SETTLE_S
    while not allowed(names := sorted(os.listdir(folder))) and time.monotonic() < end:
        time.sleep(0.005)
    assert allowed(names), f"left behind: {names}"
    return names


def only(*names: str) -> Callable[[list[str]], bool]:
    return lambda found: found == sorted(names)


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Return an output folder that holds a whole older output."""
    run(tmp_path / "out", "old")
    return tmp_path / "out"


@pytest.fixture
def no_exchange(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take away the exchange of two folders, as on Windows and some file systems."""
    monkeypatch.setattr(swap, "_exchange_code", lambda one, other: errno.ENOSYS)


@pytest.fixture(params=["exchange", "two renames"])
def either_way(request: pytest.FixtureRequest) -> str:
    """Run the test with and without the exchange."""
    if request.param == "two renames":
        request.getfixturevalue("no_exchange")
    return str(request.param)


# --- a run that ends well ---------------------------------------------------------


@pytest.mark.usefixtures("either_way")
def test_new_output_replaces_the_old_one_whole(out: Path) -> None:
    with fresh_folder(out, "bed") as folder:
        assert folder.name == "bed"
        assert list(folder.iterdir()) == []
        write_text(folder / "manifest.json", "{}")
        assert tree(out / "bed") == written("old")
    assert tree(out / "bed") == {"manifest.json": b"{}"}
    assert os.listdir(out) == ["bed"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="says what Linux must do")
def test_linux_really_exchanges_in_one_step(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "rename", lambda *paths: pytest.fail("renamed in two steps"))
    run(out, "new")
    assert tree(out / "bed") == written("new")


def test_missing_parents_are_made(tmp_path: Path) -> None:
    run(tmp_path / "a" / "out", "new")
    assert tree(tmp_path / "a" / "out" / "bed") == written("new")


def test_relative_folder_holds_when_the_run_changes_directory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path)
    with fresh_folder(Path("out"), "bed") as folder:
        fill(folder, "new")
        os.chdir("elsewhere")
    assert tree(tmp_path / "out" / "bed") == written("new")
    assert list((tmp_path / "elsewhere").iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="Windows has no umask")
def test_permissions_are_the_usual_ones(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        run(tmp_path / "out", "new")
        write_file(tmp_path / "schema.json", b"{}")
    finally:
        os.umask(before)
    folder = tmp_path / "out" / "bed"
    paths = (tmp_path / "out", folder, folder / "model", folder / "plan.pdf")
    modes = [stat.S_IMODE(path.stat().st_mode) for path in (*paths, tmp_path / "schema.json")]
    assert modes == [0o750, 0o750, 0o750, 0o640, 0o640]


def test_old_output_with_a_closed_folder_leaves_no_litter(out: Path) -> None:
    (out / "bed" / "model").chmod(0o500)
    run(out, "new")
    assert tree(out / "bed") == written("new")
    assert os.listdir(out) == ["bed"]


def test_run_goes_on_where_no_guard_can_be_started(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(subprocess, "Popen", fail_with(errno.EAGAIN))
    run(out, "new")
    assert tree(out / "bed") == written("new")
    assert os.listdir(out) == ["bed"]


def test_run_goes_on_where_files_cannot_be_locked(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "take_lock", fail_with(errno.ENOLCK))
    with fresh_folder(out, "bed") as folder:
        fill(folder, "new")
        run(out, "other", name="table")  # its sweep must not take the first for dead
    assert tree(out / "bed") == written("new")
    assert sorted(os.listdir(out)) == ["bed", "table"]


# --- a run that fails -------------------------------------------------------------


def fail_with(code: int) -> Callable[..., object]:
    def fail(*arguments: object, **keywords: object) -> object:
        raise OSError(code, os.strerror(code))

    return fail


def throw(error: BaseException) -> Callable[[Path], object]:
    def spoil(folder: Path) -> object:
        raise error

    return spoil


def refused(error: type[BedmodelError], out: Path, name: str = "bed") -> str:
    with pytest.raises(error) as caught:
        run(out, "new", name)
    message = str(caught.value)
    assert message.isprintable()  # so one line, too
    return message


@pytest.mark.usefixtures("either_way")
@pytest.mark.parametrize("error", [KeyboardInterrupt, SystemExit, ValueError, InputError])
def test_exception_leaves_the_old_output_and_passes(out: Path, error: type[BaseException]) -> None:
    raised = InputError("a", 1, "b") if error is InputError else error()
    with pytest.raises(error) as caught:
        run(out, "new", then=throw(raised))
    assert caught.value is raised
    assert tree(out / "bed") == written("old")
    assert os.listdir(out) == ["bed"]


@pytest.mark.parametrize("guarded", [True, False])
def test_failed_run_takes_the_folders_it_made_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, guarded: bool
) -> None:
    if not guarded:
        monkeypatch.setattr(staging, "_start_guard", lambda area, made: None)
    (tmp_path / "there").mkdir()
    with pytest.raises(KeyError):
        run(tmp_path / "there" / "a" / "out", "new", then=throw(KeyError()))
    assert list(tmp_path.rglob("*")) == [tmp_path / "there"]


@pytest.mark.parametrize(
    ("code", "reason"),
    [(errno.ENOSPC, "disk is full"), (errno.EROFS, "read-only"), (errno.EACCES, "permission")],
)
@pytest.mark.parametrize("where", ["os.makedirs", "pathlib.Path.write_bytes"])
def test_system_error_is_told_in_one_line(
    out: Path, monkeypatch: pytest.MonkeyPatch, code: int, reason: str, where: str
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(where, fail_with(code))
        message = refused(WriteError, out)
    assert message.startswith(f"cannot write {out / 'bed'}: ")
    assert reason in message
    assert "choose another output folder" in message
    assert tree(out / "bed") == written("old")
    assert os.listdir(out) == ["bed"]


def test_full_disk_that_shows_only_at_the_end(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", fail_with(errno.ENOSPC))  # as network disks do
    assert "the disk is full" in refused(WriteError, out)
    assert tree(out / "bed") == written("old")
    assert os.listdir(out) == ["bed"]


def test_message_stays_one_line_and_names_no_hidden_folder(tmp_path: Path) -> None:
    out = tmp_path / "a\tb" if os.name != "nt" else tmp_path
    with pytest.raises(WriteError) as caught:
        run(out, "new", then=lambda folder: (folder / "sled" / "a.dxf").write_bytes(b""))
    assert str(caught.value).isprintable()
    assert "(bed/sled/a.dxf)" in str(caught.value).replace("\\", "/")
    assert ".bedmodel" not in str(caught.value)


def test_output_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    for out in (tmp_path / "out", tmp_path / "out" / "deeper"):
        assert "not a folder" in refused(WriteError, out)
    assert tree(tmp_path) == {"out": b"mine"}


@pytest.mark.usefixtures("no_exchange")
@pytest.mark.parametrize("error", [OSError(errno.EIO, "bad disk"), KeyboardInterrupt()])
def test_second_rename_that_fails_is_rolled_back(
    out: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    rename, sources = os.rename, []

    def flaky(source: Path, target: Path) -> None:
        sources.append(Path(source).parent.name)
        if len(sources) == 2:
            raise error
        rename(source, target)

    monkeypatch.setattr(os, "rename", flaky)
    with pytest.raises((WriteError, KeyboardInterrupt)):
        run(out, "new")
    assert sources == ["out", "new", "old"]  # away, in (fails), back
    assert tree(out / "bed") == written("old")
    assert os.listdir(out) == ["bed"]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a disk of 1 MB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(disk)]
    if not sys.platform.startswith("linux") or os.geteuid() or not shutil.which("mount"):
        pytest.skip("only root on Linux can mount a small disk")
    if subprocess.run(command, capture_output=True).returncode:
        pytest.skip("mounting is not allowed here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.usefixtures("either_way")
def test_full_disk(small_disk: Path) -> None:
    run(small_disk, "old")
    with pytest.raises(WriteError, match="the disk is full"):
        run(small_disk, "new", then=lambda new: write_bytes(new / "big.stl", bytes(2_000_000)))
    assert tree(small_disk / "bed") == written("old")
    assert os.listdir(small_disk) == ["bed"]


def test_read_only_disk(small_disk: Path) -> None:
    run(small_disk, "old")
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    assert "read-only" in refused(WriteError, small_disk)
    assert "read-only" in refused(WriteError, small_disk / "deeper")
    with pytest.raises(WriteError, match="read-only"):
        write_file(small_disk / "schema.json", b"{}")
    assert tree(small_disk / "bed") == written("old")
    assert os.listdir(small_disk) == ["bed"]


def test_old_output_that_cannot_be_moved_is_left(small_disk: Path) -> None:
    (small_disk.parent / "bed").mkdir()
    # The place is itself a mounted disk: no rename can take it away.
    message = refused(WriteError, small_disk.parent, name="disk")
    assert "other file system" in message or "in use" in message
    assert sorted(os.listdir(small_disk.parent)) == ["bed", "disk"]


# --- what is not ours -------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", ".bed", "a/b", "a\\b", "a b", "bed\n", "bed.", "bänk", "x" * 101, "/bed"],
)
def test_unsafe_name_is_refused(tmp_path: Path, name: str) -> None:
    assert "letters" in refused(InputError, tmp_path / "out", name)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["x" * 100, "Larkspur_us-queen.2", "-", "7"])
def test_safe_name_is_taken(tmp_path: Path, name: str) -> None:
    run(tmp_path, "new", name)
    assert os.listdir(tmp_path) == [name]


def put_foreign(kind: str, place: Path) -> None:
    if kind == "file":
        place.write_text("mine")
    elif kind == "folder":
        place.mkdir()
        (place / "notes.txt").write_text("mine")
    elif kind == "dangling link":
        place.symlink_to("nowhere")
    else:
        elsewhere = place.parent.parent / "elsewhere"
        run(elsewhere.parent, "mine", name="elsewhere")
        place.symlink_to(elsewhere)


@needs_links
@pytest.mark.usefixtures("either_way")
@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("kind", ["file", "folder", "link", "dangling link"])
def test_what_is_not_ours_is_refused_and_kept(tmp_path: Path, kind: str, late: bool) -> None:
    told = f": a {kind.split()[-1]} .*is left alone"
    out, entered = tmp_path / "out", []

    def come(folder: Path) -> None:
        entered.append(folder)
        (tmp_path / "later").rename(out / "bed")

    out.mkdir()
    put_foreign(kind, out / "bed")
    before, link = tree(tmp_path), os.path.islink(out / "bed")
    if late:  # it comes while the run is writing
        (out / "bed").rename(tmp_path / "later")
    with pytest.raises(WriteError, match=told):
        run(out, "new", then=come)
    assert bool(entered) == late
    assert tree(tmp_path) == before
    assert os.path.islink(out / "bed") == link
    assert os.listdir(out) == ["bed"]


def test_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "bed").mkdir()
    run(tmp_path, "new")
    assert tree(tmp_path / "bed") == written("new")


@needs_links
def test_output_folder_may_be_a_link(out: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(out)
    run(tmp_path / "link", "new")
    assert tree(out / "bed") == written("new")
    assert (tmp_path / "link").is_symlink()


# --- runs side by side, and after one another -------------------------------------


@pytest.mark.usefixtures("either_way")
def test_last_of_two_runs_wins(out: Path) -> None:
    with fresh_folder(out, "bed") as first:
        fill(first, "first")
        with fresh_folder(out, "bed") as second:  # its sweep must spare the first
            fill(second, "second")
        assert tree(out / "bed") == written("second")
        run(out, "other", name="table")
    assert tree(out / "bed") == written("first")
    assert tree(out / "table") == written("other")
    assert sorted(os.listdir(out)) == ["bed", "table"]


@needs_fork
@pytest.mark.usefixtures("either_way")
def test_many_runs_at_once_end_well(tmp_path: Path) -> None:
    out = tmp_path / "out"

    def repeat(text: str, name: str) -> Callable[[], None]:
        return lambda: [run(out, text, name) for _ in range(15)].clear()

    children = [fork(repeat(*a)) for a in (("a", "bed"), ("b", "bed"), ("c", "table"))]
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0, 0]
    assert tree(out / "bed") in (written("a"), written("b"))
    assert tree(out / "table") == written("c")
    assert sorted(os.listdir(out)) == ["bed", "table"]


@pytest.mark.usefixtures("either_way")
def test_place_that_another_run_empties_meanwhile_is_taken(out: Path, tmp_path: Path) -> None:
    def other_run() -> None:
        (out / "bed").rename(tmp_path / "aside")

    fill(out / "new" / "bed", "new")
    swap.put_in_place(out / "new" / "bed", out / "bed", out / "old", other_run)
    assert tree(out / "bed") == written("new")


@pytest.mark.parametrize("before", [True, False])
@pytest.mark.usefixtures("no_exchange")
def test_place_that_another_run_takes_meanwhile_is_taken_over(
    out: Path, monkeypatch: pytest.MonkeyPatch, before: bool
) -> None:
    rename, overtaken = os.rename, []
    if not before:
        shutil.rmtree(out / "bed")

    def slow(source: Path, target: Path) -> None:
        if Path(target) == out / "bed" and not overtaken:
            overtaken.append(1)
            fill(out / "bed", "other")
        rename(source, target)

    monkeypatch.setattr(os, "rename", slow)
    run(out, "new")
    assert overtaken
    assert tree(out / "bed") == written("new")
    assert os.listdir(out) == ["bed"]


def left_by_power_cut(out: Path, part: str, name: str = "bed") -> Path:
    area = out / AREA
    fill(area / part / name, "left")
    (area / guard.LOCK).touch()
    return area


def test_leftovers_are_swept_by_the_next_run(out: Path) -> None:
    left_by_power_cut(out, guard.NEW)
    run(out, "other", name="table")
    assert tree(out / "bed") == written("old")
    assert sorted(os.listdir(out)) == ["bed", "table"]


def test_sweep_puts_an_old_output_back_where_its_place_is_empty(out: Path) -> None:
    left_by_power_cut(out, guard.OLD, "bed")  # its place is taken: drop it
    staging.sweep(out)
    assert tree(out / "bed") == written("old")
    left_by_power_cut(out, guard.OLD, "table")
    staging.sweep(out)
    assert tree(out / "table") == written("left")
    assert sorted(os.listdir(out)) == ["bed", "table"]


def test_sweep_spares_living_runs_and_what_only_looks_alike(out: Path) -> None:
    area = left_by_power_cut(out, guard.NEW)
    (out / ".bedmodel-notes").mkdir()
    (out / ".bedmodel-aaaaaaaaaaaa").mkdir()  # a run's name, but no lock in it
    (out / ".bedmodel-aaaaaaaaaaaa" / "mine.txt").write_text("mine")
    before = tree(out)
    with open(area / guard.LOCK, "r+b") as lock:
        assert guard.take_lock(lock.fileno(), wait=False)
        staging.sweep(out)
        assert tree(out) == before
    staging.sweep(out)
    assert sorted(os.listdir(out)) == [".bedmodel-aaaaaaaaaaaa", ".bedmodel-notes", "bed"]


def test_run_that_is_swept_before_it_has_its_lock_starts_again(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_lock, swept = guard.take_lock, []

    def late(descriptor: int, *, wait: bool) -> bool:
        if not swept:
            swept.append(1)
            staging.sweep(out)  # another run's, in between
            assert os.listdir(out) == ["bed"]
        return take_lock(descriptor, wait=wait)

    monkeypatch.setattr(guard, "take_lock", late)
    run(out, "new")
    assert swept
    assert tree(out / "bed") == written("new")
    assert os.listdir(out) == ["bed"]


# --- deaths -----------------------------------------------------------------------


def fork(work: Callable[[], None], group: bool = False) -> int:
    """Start ``work`` in a forked child; return its process id."""
    child = os.fork()
    if child:
        return child
    code = 1
    with suppress(BaseException):
        if group:
            os.setpgid(0, 0)
        work()
        code = 0
    os._exit(code)


def die_at(step: int, die: Callable[[], None]) -> None:
    """Call ``die`` at the given line, counting the lines run in the exports and ``shutil``."""
    left = step

    def trace(frame: object, event: str, argument: object) -> object:
        nonlocal left
        name = frame.f_code.co_filename  # type: ignore[attr-defined]
        if not name.startswith(EXPORTS) and name != shutil.__file__:
            return None
        if event == "line":
            left -= 1
            if left == 0:
                die()
        return trace

    sys.settrace(trace)  # type: ignore[arg-type]


def deaths(work: Callable[[], None], die: Callable[[], None], first: int) -> Iterator[int]:
    """Let children die at one line after another until one lives to the end."""
    step = first
    while True:
        child = fork(lambda: (die_at(step, die), work())[0], group=True)  # noqa: B023
        status = os.waitpid(child, 0)[1]
        if not os.WIFSIGNALED(status):
            assert status == 0
            assert step > 100  # the lines were traced
            return
        yield step
        step += STRIDE


STRIDE = 7


def kill_self() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def kill_group() -> None:
    os.killpg(0, signal.SIGKILL)


def end_self() -> None:
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(5)


WAYS = [(kill_self, 1), (kill_group, 3), (end_self, 5)]


@needs_fork
@pytest.mark.parametrize(("die", "first"), WAYS)
def test_killed_run_leaves_the_old_or_the_new_output(
    out: Path, die: Callable[[], None], first: int, either_way: str
) -> None:
    seen = []
    for step in deaths(lambda: run(out, "new"), die, first):
        if either_way == "exchange" and sys.platform.startswith("linux"):
            assert len(tree(out / "bed")) == 4  # at no instant was the place empty
        settle(out, only("bed"))
        found = tree(out / "bed")
        assert found in (written("old"), written("new")), f"at step {step}"
        seen.append(found == written("new"))
        run(out, "old")
    assert True in seen
    assert False in seen


@needs_fork
@pytest.mark.parametrize(("die", "first"), WAYS)
def test_killed_first_run_leaves_nothing_or_all(
    tmp_path: Path, die: Callable[[], None], first: int
) -> None:
    seen = []
    for _ in deaths(lambda: run(tmp_path / "a" / "out", "new"), die, first):
        whole = written("new")
        settle(tmp_path, lambda names: not names or not litter(tmp_path / "a" / "out", "bed"))
        assert {f"a/out/bed/{k}": v for k, v in whole.items()} == tree(tmp_path) or not any(
            tmp_path.iterdir()
        )
        seen.append(any(tmp_path.iterdir()))
        shutil.rmtree(tmp_path / "a", ignore_errors=True)
    assert True in seen
    assert False in seen


def litter(folder: Path, name: str) -> bool:
    # The guard may remove the folder at any moment, which os.walk takes for empty.
    return next(os.walk(folder), ("", [], []))[1] != [name]


@needs_fork
def test_killed_write_of_one_file_leaves_the_old_or_the_new_one(tmp_path: Path) -> None:
    path, seen = tmp_path / "schema.json", set()
    path.write_bytes(b"old")
    for _ in deaths(lambda: write_file(path, b"new"), kill_group, 2):
        settle(tmp_path, only("schema.json"))
        seen.add(path.read_bytes())
        path.write_bytes(b"old")
    assert seen == {b"old", b"new"}


def test_killed_process_leaves_the_old_output(out: Path) -> None:
    """Kill a run in the middle of its writing, as any system can."""
    script = (
        "import sys, time; from pathlib import Path\n"
        "from bedmodel.exports.publish import fresh_folder, write_text\n"
        "with fresh_folder(Path(sys.argv[1]), 'bed') as folder:\n"
        "    write_text(folder / 'manifest.json', '{}'); print('half', flush=True)\n"
        "    time.sleep(60)\n"
    )
    root = str(Path(publish.__file__).parents[2])
    process = subprocess.Popen(
        [sys.executable, "-c", script, str(out)], stdout=subprocess.PIPE, cwd=root
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline().strip() == b"half"
        assert len(os.listdir(out)) == 2
        process.kill()
    settle(out, only("bed"))
    assert tree(out / "bed") == written("old")


@needs_fork
@pytest.mark.usefixtures("no_exchange")
def test_sweep_ends_what_guard_and_run_both_died_of(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Die between the two renames with no guard, as in a power cut."""
    monkeypatch.setattr(swap, "_move_in", lambda new, target: kill_self())
    with monkeypatch.context() as patch:
        patch.setattr(staging, "_start_guard", lambda area, made: None)
        os.waitpid(fork(lambda: run(out, "new")), 0)
    (left,) = os.listdir(out)
    assert left.startswith(".bedmodel-")  # the place is empty, both are in there
    monkeypatch.undo()
    run(out, "other", name="table")
    assert tree(out / "bed") == written("old")
    assert sorted(os.listdir(out)) == ["bed", "table"]


@needs_fork
def test_guard_outlives_the_signals_of_a_logout(out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def signalled(descriptor: int, count: int) -> bytes:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            os.kill(os.getpid(), number)
        return b""  # and then its run ends

    area = left_by_power_cut(out, guard.NEW)
    monkeypatch.setattr(os, "read", signalled)
    assert os.waitpid(fork(lambda: guard.main([str(area)])), 0)[1] == 0
    assert os.listdir(out) == ["bed"]


@needs_fork
def test_worker_that_outlives_a_killed_run_does_not_hold_up_the_guard(
    out: Path, tmp_path: Path
) -> None:
    def work() -> None:
        with fresh_folder(out, "bed"):
            worker = fork(lambda: time.sleep(60))
            (tmp_path / "worker").write_text(str(worker))
            kill_self()

    os.waitpid(fork(work), 0)
    worker = int((tmp_path / "worker").read_text())
    try:
        settle(out, only("bed"))
        os.kill(worker, 0)  # it lives, so the guard did not wait for it
    finally:
        os.kill(worker, signal.SIGKILL)
    assert tree(out / "bed") == written("old")


@needs_fork
def test_forked_child_that_leaves_the_block_publishes_and_removes_nothing(out: Path) -> None:
    with ExitStack() as block:
        folder = block.enter_context(fresh_folder(out, "bed"))
        fill(folder, "new")
        assert os.waitpid(fork(block.close), 0)[1] == 0
        assert tree(out / "bed") == written("old")
        assert tree(folder) == written("new")
    assert tree(out / "bed") == written("new")


# --- single files and texts -------------------------------------------------------


def test_text_is_utf8_with_plain_line_ends(tmp_path: Path) -> None:
    write_text(tmp_path / "deep" / "er" / "a.txt", "7½ in\r\nbå\n")
    assert (tmp_path / "deep" / "er" / "a.txt").read_bytes() == b"7\xc2\xbd in\nb\xc3\xa5\n"


def test_one_file_is_written_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "schema.json"
    for data in (b"one", b"two\r\n"):
        write_file(path, data)
        assert path.read_bytes() == data
        assert os.listdir(path.parent) == ["schema.json"]


@needs_links
def test_one_file_keeps_its_link_and_its_permissions(tmp_path: Path) -> None:
    real, link = tmp_path / "real.json", tmp_path / "link.json"
    real.write_bytes(b"old")
    real.chmod(0o604)
    link.symlink_to(real)
    write_file(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o604


def test_one_file_is_not_written_over_a_folder(tmp_path: Path) -> None:
    (tmp_path / "schema.json").mkdir()
    with pytest.raises(WriteError, match="it is a folder"):
        write_file(tmp_path / "schema.json", b"{}")
    assert os.listdir(tmp_path) == ["schema.json"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
def test_one_file_is_not_written_over_a_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(WriteError, match="not a plain file"):
        write_file(tmp_path / "pipe", b"{}")
    assert (tmp_path / "pipe").is_fifo()


def test_one_file_that_cannot_be_put_in_place_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "schema.json"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "replace", fail_with(errno.EDQUOT))
    with pytest.raises(WriteError, match=r"schema\.json: the disk quota is used up"):
        write_file(path, b"new")
    assert tree(tmp_path) == {"schema.json": b"old"}
