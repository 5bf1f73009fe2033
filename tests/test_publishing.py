"""Packs of many beds: keys, what is kept, kill -9 in mid-run, a store by address, the page."""

from __future__ import annotations

import hashlib
import json
import os
import pickle
import select
import signal
import subprocess
import sys
import time
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import psutil
import pytest

from bedmodel.cli import main
from bedmodel.errors import MissingLibrary, WriteError
from bedmodel.exports.shop_files import Workshop
from bedmodel.program import program_stamp
from bedmodel.publishing.crew import kept, make_one
from bedmodel.publishing.index_page import ONE_PAGE, Design, catalogue, pages
from bedmodel.publishing.maker import Maker, MakerDied, Order
from bedmodel.publishing.pack import Done, Pack, Picture, zip_bytes
from bedmodel.publishing.store import AddressStore, FolderStore, store_of
from bedmodel.sheets import load_sheet
from bedmodel.shop_profile import load_profile
from bedmodel.verbs.publish import _exit_code

ROOT = Path(__file__).resolve().parent.parent
SIZES = ("eu-90x200", "us-twin", "uk-single")
COMMAND = [sys.executable, "-m", "bedmodel", "publish", "sorrel", "--size", ",".join(SIZES),
           "--only", "strength"]  # fmt: skip


def pack(size: str = "eu-90x200", **changes: Any) -> Pack:
    sheet = load_sheet("sorrel", size=size)
    made = Pack(
        sheet, Workshop(load_profile(None)), frozenset({"strength"}), False, program_stamp()
    )
    return replace(made, **changes)


def tree(folder: Path) -> dict[str, str]:
    """Every file of the packs by its hash."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def manifests(out: Path) -> list[Path]:
    return list(out.glob("sorrel-*/manifest.json"))


def wait_for(happened: Any, process: subprocess.Popen[Any]) -> None:
    while not happened():
        assert process.poll() is None, "it ended too soon"
        time.sleep(0.02)


# --- keys --------------------------------------------------------------------------------------


def test_a_key_says_all_that_a_pack_is_made_from() -> None:
    one = pack()
    assert one.key == pack().key
    shop = load_profile(None)
    dear = shop.model_copy(update={"price": shop.price[:1]})
    others = [
        pack("us-twin"),
        pack(only=frozenset({"strength", "shop"})),
        pack(zipped=True),
        pack(stamp="bedmodel 0.0.0"),
        pack(workshop=Workshop(dear)),
        pack(workshop=Workshop(shop, None, True)),
        pack(sheet=load_sheet("sorrel", changes=["slat.thickness=19.1"])),
        pack(sheet=load_sheet("sorrel", changes=["design.title=Another"])),
    ]
    assert len({one.key, *(other.key for other in others)}) == 1 + len(others)


def test_a_sheet_written_otherwise_has_the_same_key() -> None:
    there = load_sheet("sorrel", changes=["slat.thickness=20 mm"])
    assert (
        pack(sheet=there).key
        == pack(sheet=load_sheet("sorrel", changes=["slat.thickness=2 cm"])).key
    )


def test_packs_and_stores_can_be_sent_to_another_process() -> None:
    one = pack()
    assert pickle.loads(pickle.dumps(one)).key == one.key
    store = AddressStore("memory://sent")
    assert pickle.loads(pickle.dumps(store)).address == "memory://sent"


# --- on one machine, killed in mid-run ---------------------------------------------------------


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three packs, made by a run that was killed after its first pack and one that went on."""
    if os.name == "nt":
        pytest.skip("kill -9 of POSIX")
    out = tmp_path_factory.mktemp("published")
    argv = [*COMMAND, "--jobs", "1", "--out", str(out)]
    process = subprocess.Popen(argv, cwd=ROOT, stdout=subprocess.PIPE, start_new_session=True)
    wait_for(lambda: manifests(out), process)
    children = psutil.Process(process.pid).children(recursive=True)
    process.send_signal(signal.SIGKILL)
    process.wait()
    _, alive = psutil.wait_procs(children, timeout=20)
    assert alive == []
    (first,) = manifests(out)
    assert [path.name for path in out.iterdir()] == [first.parent.name]  # nothing half made
    before = first.stat().st_mtime_ns
    done = subprocess.run(argv, cwd=ROOT, capture_output=True, text=True, check=True)
    assert "1 of 3 packs are there already" in done.stdout
    assert first.stat().st_mtime_ns == before
    return out


def test_each_pack_is_whole_and_listed(published: Path) -> None:
    assert len(manifests(published)) == len(SIZES)
    for path in manifests(published):
        record = json.loads(path.read_bytes())
        size = record["pack"]["size"]
        assert record["pack"]["key"] == pack(size).key
        assert record["pack"]["passed"]
        listed = {each["path"]: each["sha256"] for each in record["files"]}
        found = tree(path.parent)
        del found["manifest.json"]
        assert found == listed


def test_a_second_run_keeps_everything(published: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = tree(published)
    argv = [*COMMAND[3:], "--out", str(published)]
    assert main(argv) == 0
    assert "3 of them kept" in capsys.readouterr().out
    assert tree(published) == before
    assert main([*argv, "--json"]) == 0
    records = json.loads(capsys.readouterr().out)
    assert records == json.loads((published / "catalogue.json").read_bytes())
    assert [record["size"] for record in records] == list(SIZES)


def test_verify_finds_a_file_that_is_not_as_it_was_made(published: Path, tmp_path: Path) -> None:
    import shutil

    one, name = pack(), pack().name
    shutil.copytree(published / name, tmp_path / name)
    store = FolderStore(tmp_path)
    assert kept(one, store, verify=True) is not None
    (tmp_path / name / "parts.json").write_text("{}")
    assert kept(one, store) is not None
    assert kept(one, store, verify=True) is None
    assert kept(one, store) is None  # nor for a worker that looks again before it makes it
    store.write(f"{name}/manifest.json", (published / name / "manifest.json").read_bytes())
    (tmp_path / name / "parts.json").unlink()
    assert kept(one, store, verify=True) is None


def test_a_pack_of_another_key_or_half_a_manifest_is_not_kept(
    published: Path, tmp_path: Path
) -> None:
    store = FolderStore(published)
    assert kept(pack(), store) is not None
    assert kept(pack(zipped=True), store) is None
    name = pack().name
    (tmp_path / name).mkdir()
    whole = (published / name / "manifest.json").read_bytes()
    for data in (whole[: len(whole) // 2], b"[]", b"", b'{"pack": 3}'):
        (tmp_path / name / "manifest.json").write_bytes(data)
        assert kept(pack(), FolderStore(tmp_path)) is None


# --- the page ----------------------------------------------------------------------------------


def test_the_page_shows_every_pack_and_links_what_is_there(published: Path) -> None:
    import html.parser

    page = (published / "index.html").read_text("utf-8")
    assert "default-src 'none'" in page
    assert "<script" not in page
    assert page.count("data:image/jpeg;base64,") == 1
    links: list[str] = []

    class Reader(html.parser.HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            links.extend(str(value) for name, value in attrs if name == "href" and tag == "a")

    Reader().feed(page)
    files = [link for link in links if not link.startswith("#")]
    assert len(files) == 3 * len(SIZES)
    assert all((published / link).is_file() for link in files)
    for size in SIZES:
        assert f'<th scope="row">{size}</th>' in page


def told(name: str, size: str, **changes: Any) -> Done:
    record = {
        "title": "A", "size": size, "unit": "mm", "mattress": [900, 2000, 200],
        "overall": [1000.0, 2100.5, 800.0], "passed": True, "checks": 40, "failed": [],
        "cautions": 0, "mass_kg": 40.0, "cost": 300.0, "no_price": [], "sag": 0.5, **changes,
    }  # fmt: skip
    return Done(name, "a", size, "made", {"pack": record, "files": [], "bytes": 1})


def test_what_failed_or_was_refused_stands_on_the_page_and_nothing_gets_through_as_a_tag() -> None:
    bad = "<img src=x onerror=alert(1)>"
    design = Design("a", bad)
    design.packs = [
        told("a-one", "one", passed=False, failed=["PART_SAGS (901)"], cost=None,
             no_price=["red-oak 8/4"]),
        Done("a-two", "a", "two", "refused", None, f"slat.width = {bad}: must be less"),
        Done("a-three", "a", "three", "failed", None, "the process died"),
    ]  # fmt: skip
    (page,) = (data.decode() for data in pages(bad, [design]).values())
    assert "<img src=x" not in page
    assert "FAILED: PART_SAGS (901)" in page
    assert "refused: slat.width" in page
    assert "not made: the process died" in page
    assert "no price" in page
    assert "1 failed a check" in page
    states = [record["state"] for record in catalogue([design])]
    assert states == ["made", "refused", "failed"]


@pytest.mark.parametrize(
    ("done", "code"),
    [
        ([told("a-one", "one"), replace(told("a-two", "two"), state="kept")], 0),
        ([told("a-one", "one"), told("a-two", "two", passed=False)], 1),
        ([told("a-one", "one"), Done("a-two", "a", "two", "refused", None, "too wide")], 1),
        ([told("a-one", "one", passed=False), Done("b", "a", "", "failed", None, "full", 3)], 3),
    ],
)
def test_the_exit_code_tells_of_the_worst(done: list[Done], code: int) -> None:
    assert _exit_code(done) == code


def test_past_so_many_packs_each_design_has_its_page() -> None:
    designs = [Design(name, name.upper()) for name in "ab"]
    for design in designs:
        design.packs = [told(f"{design.name}-{i}", str(i)) for i in range(ONE_PAGE // 2 + 1)]
    found = pages("Beds", designs)
    assert set(found) == {"index.html", "design-a.html", "design-b.html"}
    assert b'href="design-b.html"' in found["index.html"]
    assert found["design-b.html"].count(b"<tr>") == 2 + ONE_PAGE // 2
    assert len(found["index.html"]) < 10_000


# --- bad input, before any work ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["sorrel", "--only", "plans"], "--only"),
        (["sorrel", "--size", "us-kings"], "--size"),
        (["sorrel", "--jobs", "0"], "--jobs"),
        (["sorrel", "--recycle", "0"], "--recycle"),
        (["sorrel", "--jobs", "2", "--scheduler", "tcp://127.0.0.1:1"], "--jobs"),
        (["sorrel", "sorrel"], "design.name"),
        (["sorrel", "--tls-ca", "x.pem"], "--tls-ca"),
        (["sorrel", "--set", "slat.thickness=1"], "slat.thickness"),
        (["sorrel", "--size", "us-king", "--set", "centre_rail.use=never"], "is refused"),
        (["sorrel", "--out", "nothing-like-it://x"], "--out"),
    ],
)
def test_bad_input_is_one_line_and_nothing_is_made(
    argv: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    where = [] if "--out" in argv else ["--out", str(out)]
    assert main(["publish", *argv, *where]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert said.count("\n") == 1
    assert not out.exists()


def test_without_the_extra_it_says_what_to_install(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "fsspec", None)
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(MissingLibrary):
        store_of("s3://beds/low")
    for more in (["--out", "s3://beds/low"],
                 ["--scheduler", "tcp://127.0.0.1:1", "--out", str(tmp_path)]):  # fmt: skip
        assert main(["publish", "sorrel", *more]) == 2
        said = capsys.readouterr().err
        assert "pip install distributed fsspec" in said
        assert said.count("\n") == 1


def test_nothing_of_the_extra_is_loaded_unasked() -> None:
    script = (
        "import sys, bedmodel.verbs.publish, bedmodel.publishing.cluster\n"
        "import bedmodel.publishing.store, bedmodel.publishing.maker\n"
        "import bedmodel.publishing.index_page\n"
        "assert not {'dask', 'distributed', 'fsspec', 'cadquery', 'OCP'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True)


# --- a store by address, and makers --------------------------------------------------------------


class Answering(Maker):
    """A maker that copies a pack that was made before, or dies."""

    def __init__(self, source: Path | None, deaths: int = 0) -> None:
        super().__init__(1)
        self.source, self.deaths, self.asked = source, deaths, 0

    def ask(self, order: Order) -> Any:
        import shutil

        self.asked += 1
        if self.asked <= self.deaths:
            raise MakerDied("killed")
        assert isinstance(order.what, Pack)
        assert order.out is not None
        assert order.temporary
        if self.source is None:
            return Done(order.what.name, "sorrel", "x", "failed", None, "no wood", 1)
        there = shutil.copytree(self.source / order.what.name, order.out / order.what.name)
        record = json.loads((there / "manifest.json").read_bytes())
        return Done(order.what.name, "sorrel", "x", "made", record)


def test_a_pack_is_stored_by_address_manifest_last(published: Path) -> None:
    store = AddressStore("memory://beds/low")
    one = pack()
    order: list[str] = []
    put = store._system.put_file
    store._system.put_file = lambda lpath, rpath: (order.append(rpath), put(lpath, rpath))
    try:
        done = make_one(one, store, Answering(published))
    finally:
        del store._system.put_file
    assert done.state == "made"
    assert order[-1].endswith("/manifest.json")
    assert (
        store.read(f"{one.name}/manifest.json")
        == (published / one.name / "manifest.json").read_bytes()
    )
    maker = Answering(published)
    assert make_one(one, store, maker).state == "kept"
    assert maker.asked == 0
    # A pack that has changed: the old manifest goes first, and what is no longer of it goes.
    store.write(f"{one.name}/old.txt", b"old")
    store._system.pipe_file(f"{store._root}/{one.name}/manifest.json", b"{}")
    assert make_one(one, store, Answering(published)).state == "made"
    assert not store.has(f"{one.name}/old.txt")
    assert "manifest.json" in store.names(one.name)


def test_half_a_pack_by_address_does_not_count(published: Path) -> None:
    """An upload that breaks off leaves no manifest, so the pack is made again."""
    store, one = AddressStore("memory://beds/broken"), pack()
    left = 2
    put = store._system.put_file

    def breaks(lpath: str, rpath: str) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            raise ConnectionError("gone")
        put(lpath, rpath)

    store._system.put_file = breaks
    try:
        done = make_one(one, store, Answering(published))
    finally:
        del store._system.put_file
    assert (done.state, done.exit_code) == ("failed", WriteError.exit_code)
    assert "gone" in done.problem
    assert store.manifest(one.name) is None
    assert make_one(one, store, Answering(published)).state == "made"


def test_a_maker_that_dies_is_followed_by_another_but_not_for_ever(published: Path) -> None:
    one = pack()
    assert make_one(one, AddressStore("memory://beds/a"), Answering(published, 2)).state == "made"
    lost = make_one(one, AddressStore("memory://beds/b"), Answering(published, 3))
    assert (lost.state, lost.exit_code) == ("failed", 1)
    assert "died 3 times" in lost.problem
    failed = make_one(one, AddressStore("memory://beds/c"), Answering(None))
    assert failed.problem == "no wood"


def test_a_maker_told_a_pack_of_another_program_refuses_and_is_recycled(tmp_path: Path) -> None:
    maker = Maker(recycle=1)
    done = maker.ask(Order(pack(stamp="bedmodel 0.0.0"), tmp_path))
    assert done.state == "failed"
    assert "another version" in done.problem
    assert maker.pid is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="no process is split in two there")
def test_a_maker_can_be_split_in_two_as_drawings_do() -> None:
    """The half must not wait for what the other half's threads hold."""
    script = (
        "from bedmodel.publishing import maker\n"
        "from bedmodel.exports.beside import begun\n"
        "maker._answer = lambda order: begun(lambda given: given.out.name.encode(), order)()\n"
        "import os; os.cpu_count = lambda: 2\n"
        "maker.main()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", script], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(pickle.dumps(Order(pack(), Path("there"))))
    process.stdin.flush()
    assert select.select([process.stdout], [], [], 60)[0], "it waits for ever"
    assert pickle.load(process.stdout) == b"there"
    process.stdin.close()
    assert process.wait(20) == 0


def test_an_archive_has_the_same_bytes_each_time(published: Path, tmp_path: Path) -> None:
    folder = published / pack().name
    data = zip_bytes(folder)
    os.utime(folder / "parts.json", (1, 1))
    assert zip_bytes(folder) == data
    held = tmp_path / "pack.zip"
    held.write_bytes(data)
    with zipfile.ZipFile(held) as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == set(tree(folder))


def test_a_picture_has_a_name_that_changes_with_the_bed() -> None:
    one = Picture(load_sheet("sorrel"), program_stamp())
    other = Picture(load_sheet("sorrel", changes=["leg.splay=2"]), program_stamp())
    assert one.path != other.path
    assert one.path.startswith("pictures/sorrel-")


# --- many machines -------------------------------------------------------------------------------


def test_a_cluster_that_loses_a_worker_loses_and_doubles_nothing(
    published: Path, tmp_path: Path
) -> None:
    """A real scheduler and workers in processes of their own; one is killed in mid-run."""
    pytest.importorskip("distributed")
    held, started = tmp_path / "scheduler.json", []

    def start(*argv: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "dask", *argv, "--scheduler-file", str(held)]
        log = (tmp_path / "log.txt").open("ab")
        started.append(subprocess.Popen(command, cwd=ROOT, stdout=log, stderr=log))
        return started[-1]

    out = tmp_path / "out"
    try:
        scheduler = start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
        wait_for(lambda: held.is_file() and held.read_bytes().strip().endswith(b"}"), scheduler)
        workers = [
            start("worker", "--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory",
                  str(tmp_path / f"worker-{i}"))
            for i in range(2)
        ]  # fmt: skip
        address = json.loads(held.read_bytes())["address"]
        argv = [*COMMAND, "--scheduler", address, "--out", f"file://{out}"]
        run = subprocess.Popen(argv, cwd=ROOT, stdout=subprocess.PIPE, text=True)
        wait_for(lambda: busy(workers), run)
        workers[0].kill()
        told, _ = run.communicate(timeout=300)
        assert run.returncode == 0, told
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()
    assert tree(out) == tree(published)
    assert told.count(": passed") == len(SIZES)
    for name in {line.partition(":")[0] for line in told.splitlines() if ": passed" in line}:
        assert told.count(f"{name}:") == 1


def busy(workers: list[subprocess.Popen[bytes]]) -> bool:
    """Whether both workers have begun: each has a maker that has loaded a good deal."""
    loaded = 0
    for worker in workers:
        children = psutil.Process(worker.pid).children()
        loaded += any(child.memory_info().rss > 150e6 for child in children)
    return loaded == len(workers)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense"])
def test_a_scheduler_that_is_not_there_is_told(
    address: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("bedmodel.publishing.cluster.REACH_S", 1)
    argv = ["publish", "sorrel", "--scheduler", address, "--out", str(tmp_path / "out")]
    assert main(argv) == 2
    said = capsys.readouterr().err
    assert "cannot be reached" in said
    assert said.count("\n") == 1
    assert not (tmp_path / "out").exists()
