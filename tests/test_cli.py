"""The command line as a person or a program meets it: what it prints, where, and how it ends.

Most verbs run in a process of their own. Sizes in the expected texts are added up by
hand from the sheets, as noted beside them.
"""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from bedmodel import __version__, cli
from bedmodel.checks import run as checks_run
from bedmodel.checks.finding import MEANING, Code, Finding, Result
from bedmodel.tables import mattress_sizes

ROOT = Path(__file__).resolve().parent.parent
HEAVY = {"cadquery", "OCP", "numpy", "ezdxf", "trimesh", "PIL"}
needs_pty = pytest.mark.skipif(os.name == "nt", reason="Windows has no pseudo-terminals like these")

OPTIONS = {
    "build": (
        *("sheet", "--size", "--mattress", "--set", "--shop", "--rack", "--only", "--out"),
        "--json",
    ),
    "check": ("sheet", "--size", "--mattress", "--set", "--json"),
    "strength": (
        *("sheet", "--size", "--mattress", "--set", "--all", "--basis", "--out", "--json"),
    ),
    "movement": ("sheet", "--size", "--mattress", "--set", "--json"),
    "advise": ("sheet", "--size", "--mattress", "--set", "--json"),
    "sizes": ("sheet", "--json"),
    "compare": ("sheet", "--size", "--mattress", "--set", "--shop", "--out", "--json"),
    "sweep": (
        *("sheet", "--size", "--mattress", "--set", "--vary", "--plot", "--shop", "--jobs"),
        *("--out", "--json"),
    ),
    "publish": (
        *("sheet", "--size", "--mattress", "--set", "--shop", "--rack", "--only", "--out"),
        *("--zip", "--verify", "--title", "--jobs", "--recycle", "--scheduler"),
        *("--tls-ca", "--tls-cert", "--tls-key", "--json"),
    ),
    "parameters": ("section", "--json", "--schema", "--markdown"),
    "jigs": ("sheet", "--size", "--mattress", "--set", "--shop", "--out", "--json"),
    "plan": (
        *("sheet", "--size", "--mattress", "--set", "--shop", "--rack", "--paper", "--out"),
        "--json",
    ),
    "templates": (
        *("sheet", "--size", "--mattress", "--set", "--paper", "--part", "--out", "--json"),
    ),
    "marks": ("sheet", "--size", "--mattress", "--set", "--part", "--json"),
    "cutlist": ("sheet", "--size", "--mattress", "--set", "--shop", "--csv", "--json"),
    "buy": ("sheet", "--size", "--mattress", "--set", "--shop", "--csv", "--json"),
    "boards": (
        "sheet",
        "--size",
        "--mattress",
        "--set",
        "--shop",
        "--rack",
        "--by",
        "--out",
        "--json",
    ),
    "nest": (
        *("sheet", "--size", "--mattress", "--set", "--shop", "--rack", "--width", "--out"),
        "--json",
    ),
    "steps": ("sheet", "--size", "--mattress", "--set", "--shop", "--json"),
    "report": ("sheet", "--size", "--mattress", "--set", "--shop", "--rack", "--out", "--json"),
    "watch": (
        *("sheet", "--size", "--mattress", "--set", "--shop", "--port", "--timing", "--out"),
    ),
    "draw": ("sheet", "--size", "--mattress", "--set", "--paper", "--out", "--json"),
    "show": ("sheet", "--size", "--mattress", "--set", "--picture", "--out", "--json"),
}


def environment(**more: str) -> dict[str, str]:
    """The environment of an ordinary user: no settings of Python or of colour."""
    plain = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "PYTHONUNBUFFERED")
        and not name.startswith(("PYTHONIO", "PYTHONUTF8", "LC_"))
    }
    return {**plain, "TERM": "xterm", "PYTHONPATH": str(ROOT), **more}


def bedmodel(
    *arguments: str, cwd: Path, options: Sequence[str] = (), **more: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *options, "-m", "bedmodel", *arguments],
        cwd=cwd,
        env=environment(**more),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


@dataclass(frozen=True)
class Seen:
    """What a run on a terminal showed, and its exit code."""

    code: int
    text: str


def on_terminal(*arguments: str, cwd: Path, stdout: int | None = None, **more: str) -> Seen:
    """Run with standard error on a terminal, and standard output too unless it is given."""
    import pty

    outside, inside = pty.openpty()
    try:
        process = subprocess.Popen(
            [sys.executable, "-m", "bedmodel", *arguments],
            cwd=cwd,
            env=environment(**more),
            stdin=subprocess.DEVNULL,
            stdout=inside if stdout is None else stdout,
            stderr=inside,
        )
    finally:
        os.close(inside)
    shown = b""
    try:
        while piece := _read(outside):
            shown += piece
    finally:
        os.close(outside)
    return Seen(process.wait(60), shown.decode("utf-8").replace("\r\n", "\n"))


def _read(descriptor: int) -> bytes:
    try:
        return os.read(descriptor, 65536)
    except OSError:  # how Linux tells that the other side is closed
        return b""


def files(folder: Path) -> list[str]:
    found = (path for path in folder.rglob("*") if path.is_file())
    return sorted(path.relative_to(folder).as_posix() for path in found)


# --- build ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """Build hawthorn once, into a pipe, as a script would."""
    folder = tmp_path_factory.mktemp("build")
    return folder, bedmodel("build", "hawthorn", "--only", "quick", cwd=folder)


def test_build_says_what_it_made(built: tuple[Path, Any]) -> None:
    folder, done = built
    assert done.returncode == 0, done.stderr
    made = folder / "out" / "hawthorn-eu-160x200"
    assert os.listdir(folder / "out") == [made.name]
    told = done.stdout
    assert told.startswith("Hawthorn, a bed on square posts (eu-160x200)\n")
    # across: 1600 + 2 x 11 clearance + 2 x 68 legs; along: 2000 + 22 + 2 x 68;
    # up: platform 315 + 60 + board 385 + 26
    assert re.search(r"bed +1758 mm x 2158 mm x 786 mm \(width x length x height\)", told)
    assert re.search(r"mattress +1600 mm x 2000 mm x 220 mm", told)
    assert re.search(r"platform +315 mm above the floor, mattress top 535 mm", told)
    # (2022 - 17 x 62) / 18; 1600 + 2 x 11 - 2 x 2
    assert re.search(r"slats +17, 53.8 mm apart, 1618 mm long", told)
    assert f"{len(files(made))} files in {Path('out') / made.name}" in told
    assert str(Path("out") / made.name / "model" / "bed.step") in told
    assert (made / "model" / "bed.step").is_file()
    assert str(Path("out") / made.name / "templates") in told
    assert list((made / "templates").glob("*.dxf"))


def test_build_tells_parts_checks_and_time(built: tuple[Path, Any]) -> None:
    folder, done = built
    made = folder / "out" / "hawthorn-eu-160x200"
    parts = json.loads((made / "parts.json").read_text("utf-8"))
    pieces = sum(kind["count"] for kind in parts["kinds"])
    told = rf"parts +{pieces} pieces of {len(parts['kinds'])} kinds, {parts['mass_kg']:.1f} kg"
    assert re.search(told, done.stdout)
    checks = json.loads((made / "checks.json").read_text("utf-8"))
    assert checks["passed"] is True
    looked = sum(1 for check in checks["checks"] if check["tested"])
    assert f"all {looked} checks passed" in done.stdout
    assert re.search(r"took \d+\.\d s", done.stdout)


def test_no_progress_and_no_colour_in_a_pipe(built: tuple[Path, Any]) -> None:
    _, done = built
    assert done.stderr == ""
    assert "\r" not in done.stdout
    assert "\x1b" not in done.stdout


@needs_pty
def test_build_as_json_with_its_progress_on_the_terminal(tmp_path: Path) -> None:
    with (tmp_path / "stdout").open("wb") as stdout:
        seen = on_terminal(
            *("build", "sorrel", "--json", "--only", "quick", "--out", "here/and there"),
            cwd=tmp_path,
            stdout=stdout.fileno(),
        )
    assert seen.code == 0
    record = json.loads((tmp_path / "stdout").read_text("utf-8"))
    assert record["passed"] is True
    assert record["size"] == "eu-90x200"
    made = tmp_path / record["folder"]
    assert record["folder"] == str(Path("here", "and there", "sorrel-eu-90x200"))
    assert record["files"] == len(files(made))
    # along: 2000 + 22 + 2 x 44; up: platform 405 - 180, - 98 + board 196 + 14
    assert re.fullmatch(r"[\d.]+ mm x 2110 mm x 337 mm", record["overall"])
    steps = seen.text.split("\r\x1b[K")
    assert steps[0] == ""
    assert any("parts" in step for step in steps)
    assert any("check" in step for step in steps)
    assert any("STEP" in step for step in steps)
    assert steps[-1] == ""  # the line is clear at the end
    assert "\n" not in seen.text


def test_the_help_names_what_a_run_can_end_with() -> None:
    assert "exit codes: 0 fine, 1 a check failed, 2 bad input, 3 could not write" in cli.EPILOG


# --- check and show --------------------------------------------------------------------


@needs_pty
def test_check_on_a_terminal_has_colour_and_progress(tmp_path: Path) -> None:
    seen = on_terminal("check", "sorrel", cwd=tmp_path)
    assert seen.code == 0
    assert seen.text.startswith("\r\x1b[Kloading the solid modeller")
    progress, _, table = seen.text.rpartition("\r\x1b[K")
    assert "parts" in progress
    rows = [line for line in table.splitlines() if line.endswith("\x1b[32mpassed\x1b[0m")]
    assert len(rows) > 20
    assert os.listdir(tmp_path) == []


@needs_pty
def test_no_color_is_respected(tmp_path: Path) -> None:
    seen = on_terminal("check", "sorrel", cwd=tmp_path, NO_COLOR="1")
    assert seen.code == 0
    assert "\x1b[3" not in seen.text
    assert len(re.findall(r"(?m) passed$", seen.text)) > 20


def test_check_as_json_is_json_alone(tmp_path: Path) -> None:
    done = bedmodel("check", "sorrel", "--mattress", "900x1900", "--json", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    record = json.loads(done.stdout)
    assert record["passed"] is True
    codes = [check["code"] for check in record["checks"]]
    assert codes == sorted(codes)
    assert all(check["limit"] for check in record["checks"])
    # A bed with hook plates has no bolt, and its sheet lets fasteners show; this one has no
    # centre rail, no wide board that is left dry, and no gap by the mattress; nothing stands
    # between its boards or lies on them.
    # Its edges have no profiles, and the mattress lies on one row of slats.
    idle = {808, 809, 904, 908, 909} | {304, 305, 306, 408, 409, 410, 910}
    idle |= {307, 605, 606, 607}
    assert {check["code"] for check in record["checks"] if not check["tested"]} == idle
    assert os.listdir(tmp_path) == []


def test_show_as_json_and_a_picture(tmp_path: Path) -> None:
    done = bedmodel("show", "sorrel", "--json", "--out", "pictures", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    record = json.loads(done.stdout)
    assert files(tmp_path) == ["pictures/sorrel-eu-90x200.png"]
    picture = tmp_path / record["picture"]
    assert picture.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    counts = {kind["kind"]: kind["count"] for kind in record["kinds"]}
    assert counts["side_rail"] == counts["runner"] == 2
    assert sum(count for kind, count in counts.items() if "leg" in kind) == 4


def test_show_lists_the_parts_as_a_tree(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bedmodel.exports.picture.png_bytes", lambda *parts: b"drawn")
    assert cli.main(["show", "sorrel", "--picture", str(tmp_path / "a" / "bed.png")]) == 0
    assert (tmp_path / "a" / "bed.png").read_bytes() == b"drawn"
    told = capsys.readouterr().out
    assert re.search(r"(?m)^  rails$", told)
    # 138 x 26 by the sheet; 2000 + 22 long
    assert re.search(r"(?m)^ +2  side_rail +2022 mm x 138 mm x 26 mm +yellow birch", told)
    assert told.endswith(f"picture: {tmp_path / 'a' / 'bed.png'}\n")


# --- exit codes ----------------------------------------------------------------------------


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the check of the slats' gaps fail, with the findings that it would have."""

    def spoiled(check: Callable[..., Iterator[Result]]) -> Callable[..., Iterator[Result]]:
        def run(probe: object) -> Iterator[Result]:
            for result in check(probe):
                if int(result.code) != 601:
                    yield result
                    continue
                finding = Finding(
                    code=result.code,
                    parts=("slat_3", "slat_4"),
                    measured=61.25,
                    limit=result.limit,
                    place="at y = 300",
                )
                yield replace(result, worst=61.25, findings=(finding,))

        return run

    monkeypatch.setattr(checks_run, "CHECKS", tuple(map(spoiled, checks_run.CHECKS)))


@pytest.mark.usefixtures("failing")
def test_a_failed_check_ends_with_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", "sorrel"]) == 1
    told = capsys.readouterr()
    assert told.err == ""
    assert len(re.findall(r"(?m) FAILED$", told.out)) == 1
    assert re.search(
        r"(?m)^1 of \d+ checks failed, 1 caution; 16 more had nothing to test$", told.out
    )
    assert "slat_3, slat_4: measured 61.25 (at y = 300), must be " in told.out
    assert f"; {MEANING[Code(601)][1]}\n" in told.out
    assert cli.main(["check", "sorrel", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["passed"] is False


@pytest.mark.usefixtures("failing")
def test_a_build_with_a_failed_check_is_written_and_ends_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    only = ("--only", "quick")
    assert cli.main(["build", "sorrel", *only, "--out", str(tmp_path)]) == 1
    told = capsys.readouterr().out
    assert "FAILED" in told
    assert "slat_3, slat_4: measured 61.25 (at y = 300), must be " in told
    assert f"; {MEANING[Code(601)][1]}\n" in told
    record = json.loads((tmp_path / "sorrel-eu-90x200" / "checks.json").read_text("utf-8"))
    assert record["passed"] is False


def test_bad_input_ends_with_2_and_one_line(tmp_path: Path) -> None:
    done = bedmodel("build", "campion", "--set", "leg.splay=99", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "bedmodel: leg.splay = 99: must be an angle of 1 to 12 deg; set it within the range\n"
    )


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["bild"], "bild"),
        (["build", "--ouut", "x"], "--ouut"),
        (["check", "--set"], "--set"),
        (["parameters", "--json", "--schema"], "--schema"),
        (["sizes", "one", "two"], "two"),
    ],
)
def test_a_wrong_command_line_ends_with_2(
    arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(arguments)
    assert ended.value.code == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert told in printed.err.splitlines()[-1]


@pytest.mark.parametrize("verb", ["build", "show"])
def test_what_cannot_be_written_ends_with_3(
    verb: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("bedmodel.exports.picture.png_bytes", lambda *parts: b"drawn")
    (tmp_path / "file").write_text("kept", "utf-8")
    assert cli.main([verb, "sorrel", "--out", str(tmp_path / "file" / "out")]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert told.err.startswith(f"bedmodel: cannot write {tmp_path / 'file' / 'out'}")
    assert "part of the path is a file, not a folder" in told.err
    assert told.err.endswith("choose another output folder\n")
    assert files(tmp_path) == ["file"]


# --- every size ------------------------------------------------------------------------------


def test_all_sizes_are_built_and_one_that_fails_does_not_stop_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    few = {name: mattress_sizes()[name] for name in ("eu-90x200", "jp-single")}
    monkeypatch.setattr("bedmodel.verbs.build.mattress_sizes", lambda: few)
    # 2000 + 22 = 17 x 58 + 18 x 57.56; in 1950 + 22 there is no gap of 57 to 58:
    # 16 slats leave 61.4 and 17 leave 54.8.
    band = [
        *("--set", "slat.gap_least=57", "--set", "slat.gap_wanted=57.5"),
        *("--set", "slat.gap_greatest=58"),
    ]
    arguments = [
        "build",
        "sorrel",
        "--size",
        "all",
        "--only",
        "quick",
        "--out",
        str(tmp_path),
        *band,
    ]
    assert cli.main([*arguments, "--json"]) == 2
    one, other = json.loads(capsys.readouterr().out)
    assert os.listdir(tmp_path) == ["sorrel-eu-90x200"]
    assert (one["size"], one["passed"], one["problem"]) == ("eu-90x200", True, "")
    assert (other["size"], other["passed"], other["exit_code"]) == ("jp-single", False, 2)
    assert "16 slats leave 61.4 mm, 17 leave 54.8 mm" in other["problem"]
    few.pop("eu-90x200")
    assert cli.main(arguments) == 2
    told = capsys.readouterr().out
    assert re.search(r"(?m)^jp-single .*slat.width = 58 mm: .* not made$", told)
    assert "0 of 1 sizes made" in told


# --- sizes and parameters: light -----------------------------------------------------------------


def test_sizes_lists_the_whole_table(tmp_path: Path) -> None:
    done = bedmodel("sizes", "--json", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    rows = json.loads(done.stdout)
    assert [row["name"] for row in rows] == list(mattress_sizes())
    queen = next(row for row in rows if row["name"] == "us-queen")
    assert (queen["width"], queen["length"]) == (1524.0, 2032.0)  # 60 x 80 in
    assert "bed" not in queen
    text = bedmodel("sizes", cwd=tmp_path).stdout
    assert re.search(r"(?m)^us-queen +US queen +60 x 80 in +1524 x 2032", text)
    assert re.findall(r"(?m)^([a-z]{2}-[a-z0-9-]+) ", text) == list(mattress_sizes())


def test_sizes_of_a_sheet_adds_the_bed(tmp_path: Path) -> None:
    rows = json.loads(bedmodel("sizes", "hawthorn", "--json", cwd=tmp_path).stdout)
    queen = next(row["bed"] for row in rows if row["name"] == "us-queen")
    # 1524 + 2 x 11 + 2 x 68; 2032 + 22 + 2 x 68
    assert (queen["width"], queen["length"], queen["height"]) == (1682, 2190, 786)
    assert queen["shown"] == "1682 mm x 2190 mm x 786 mm"
    text = bedmodel("sizes", "hawthorn", cwd=tmp_path).stdout
    assert re.search(r"(?m)^us-queen .* 1682 mm x 2190 mm x 786 mm +17$", text)


def test_a_size_that_a_sheet_cannot_have_says_why(tmp_path: Path) -> None:
    sheet = tmp_path / "my.toml"
    sheet.write_text('[centre_rail]\nuse = "never"\n', "utf-8")
    rows = json.loads(bedmodel("sizes", "my.toml", "--json", cwd=tmp_path).stdout)
    beds = {row["name"]: row["bed"] for row in rows}
    assert "needs a centre rail" in beds["us-queen"]["refused"]
    assert beds["eu-90x200"]["length"] == 2000 + 22 + 2 * 60
    assert "needs a centre rail" in bedmodel("sizes", "my.toml", cwd=tmp_path).stdout


@pytest.mark.parametrize(
    ("arguments", "banned"),
    [
        (["sizes"], HEAVY | {"pydantic"}),
        (["sizes", "--json"], HEAVY | {"pydantic"}),
        (["--help"], HEAVY | {"pydantic"}),
        (["sizes", "campion"], HEAVY),
        (["parameters"], HEAVY),
        (["parameters", "--json"], HEAVY),
        (["parameters", "--schema"], HEAVY),
        (["parameters", "--markdown"], HEAVY),
    ],
)
def test_what_needs_no_solid_loads_nothing_heavy(
    arguments: list[str], banned: set[str], tmp_path: Path
) -> None:
    done = bedmodel(*arguments, cwd=tmp_path, options=("-X", "importtime"))
    assert done.returncode == 0
    loaded = {
        line.rpartition("|")[2].strip().split(".")[0]
        for line in done.stderr.splitlines()
        if line.startswith("import time:")
    }
    assert "argparse" in loaded  # the list is there to be read
    assert not loaded & banned
    assert os.listdir(tmp_path) == []


# --- help -----------------------------------------------------------------------------------------


def test_without_a_verb_the_help_is_printed(tmp_path: Path) -> None:
    bare, asked = bedmodel(cwd=tmp_path), bedmodel("--help", cwd=tmp_path)
    assert (bare.returncode, bare.stderr) == (0, "")
    assert bare.stdout == asked.stdout
    assert bedmodel("--version", cwd=tmp_path).stdout == f"bedmodel {__version__}\n"


def test_the_help_shows_every_verb_and_what_it_does(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    with pytest.raises(SystemExit):
        cli.main(["--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert list(cli.VERBS) == list(OPTIONS)
    for verb, line in cli.VERBS.items():
        assert f"{verb} {line}" in told
    assert "A design aid, not a certificate; adult low beds only." in told


@pytest.mark.parametrize("verb", list(OPTIONS))
def test_the_help_of_a_verb_explains_every_option(
    verb: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    with pytest.raises(SystemExit) as ended:
        cli.main([verb, "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    explained = re.findall(r"(?m)^  (?:-h, )?(--[a-z-]+|[a-z]+)(?: [A-Zx=\[\]]\S*)*(?:  |$)", told)
    assert sorted(explained) == sorted(("--help", *OPTIONS[verb]))
    for option in explained:
        help_ = re.search(rf"(?m)^  (?:-h, )?{option}[^\n]*?(?:  +|\n {{20,}})(\S.*)", told)
        assert help_, f"{option} has no help"


def test_the_examples_in_the_help_are_right(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each is run until the solid modeller would be loaded."""

    class Loaded(Exception):
        """The run was about to make solids."""

    def load() -> None:
        raise Loaded

    monkeypatch.setattr("bedmodel.kernel.load", load)
    monkeypatch.chdir(tmp_path)
    Path("my.toml").write_text("[leg]\nthickness = 61\n", "utf-8")
    examples = re.findall(r"(?m)^  bedmodel (.*?)(?:   .*)?$", cli.EPILOG)
    assert len(examples) >= 5
    for example in examples:
        arguments = example.split()
        if arguments[0] in ("build", "check", "show"):
            with pytest.raises(Loaded):
                cli.main(arguments)
        else:
            assert cli.main(arguments) == 0
            assert capsys.readouterr().out


# --- where the output goes ------------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="Windows has no broken pipes like these")
@pytest.mark.parametrize(
    "arguments",
    [
        ["sizes"],
        ["sizes", "campion"],
        ["parameters"],
        ["parameters", "leg"],
        ["parameters", "--schema"],
        ["--help"],
        [],
    ],
)
def test_a_reader_that_goes_away_is_no_error(arguments: list[str], tmp_path: Path) -> None:
    """As with `| head`, but the reader is gone before the first byte."""
    outside, inside = os.pipe()
    os.close(outside)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "bedmodel", *arguments],
            cwd=tmp_path,
            env=environment(),
            stdout=inside,
            stderr=subprocess.PIPE,
        )
    finally:
        os.close(inside)
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_terminal_without_the_letters_of_a_title_is_no_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = io.BytesIO()
    with io.TextIOWrapper(raw, encoding="ascii", write_through=True) as narrow:
        monkeypatch.setattr(sys, "stdout", narrow)
        title = "design.title=Gästebett Ложе"
        arguments = ["build", "sorrel", "--only", "quick", "--set", title, "--out", str(tmp_path)]
        assert cli.main(arguments) == 0
        told = raw.getvalue().decode("ascii")
    assert told.startswith("G?stebett ???? (eu-90x200)\n")
    parts = (tmp_path / "sorrel-eu-90x200" / "manifest.json").read_text("utf-8")
    assert "Gästebett Ложе" in parts
