"""Bad input is refused in one line, before anything heavy is loaded or written.

Most refusals run through ``bedmodel.cli.main`` with a solid modeller that fails the
test when it is loaded. Bounds in the expected texts are worked out by hand from the
sheets, as noted beside them.
"""

from __future__ import annotations

import copy
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bedmodel import cli, kernel
from bedmodel.errors import InputError
from bedmodel.sheets import check_sheet, example_sheets, load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.spec import Sheet

ROOT = Path(__file__).resolve().parent.parent

# Same examples in every run: a refusal that fails must fail again.
many = settings(
    max_examples=1000,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
some = settings(many, max_examples=300)

Refuse = Callable[..., str]


def tree(folder: Path) -> dict[str, bytes | None]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def refusal_of(make: Callable[[], object]) -> InputError | None:
    try:
        make()
    except InputError as refusal:
        return refusal
    return None


def holds(refusal: InputError | None) -> bool:
    """True of no refusal, and of one that tells what is wrong in one short line."""
    if refusal is None:
        return True
    line = str(refusal)
    told = bool(refusal.parameter and refusal.allowed)
    return told and line.isprintable() and len(line) < 500


@pytest.fixture
def refuse(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Refuse:
    """Return a function that runs the command line and returns its one line of refusal."""

    def loaded() -> None:
        pytest.fail("the solid modeller was loaded for input that is refused")

    def run(*arguments: str, verb: str = "build") -> str:
        before = tree(tmp_path)
        out = ("--out", str(tmp_path / "out")) if verb in ("build", "show") else ()
        code = cli.main([verb, *arguments, *out])
        told = capsys.readouterr()
        assert (code, told.out) == (2, "")
        lines = told.err.splitlines()
        assert len(lines) == 1, told.err
        assert lines[0].startswith("bedmodel: ")
        assert lines[0].isprintable()
        assert len(lines[0]) < 500
        assert tree(tmp_path) == before
        return lines[0]

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(kernel, "load", loaded)
    return run


@pytest.fixture
def sheet(tmp_path: Path) -> Callable[[str | bytes], str]:
    """Return a function that writes a sheet and returns its path."""

    def write(text: str | bytes) -> str:
        path = tmp_path / "my.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    return write


# --- one parameter: its name, its value, what is allowed, what to do ----------------

LENGTH = "give a number in the sheet's unit, or text with a unit of its own"
WHOLE = "give a number without a fraction and without quotes"
LEG = "must be a length of 24 to 120 mm"

# (text of the sheet, parameter, value as shown, what is allowed, remedy)
ONE_PARAMETER = {
    "wrong type": ("[leg]\nthickness = []", "leg.thickness", "a list", LEG, LENGTH),
    "a table": ("[leg]\nthickness = {a = 1}", "leg.thickness", "a table", LEG, LENGTH),
    "a date": ("[leg]\nthickness = 2020-01-02", "leg.thickness", "2020-01-02", LEG, LENGTH),
    "a word": ('[leg]\nthickness = "thick"', "leg.thickness", "thick", LEG, LENGTH),
    "nothing": ('[leg]\nthickness = ""', "leg.thickness", "", LEG, LENGTH),
    "wrong unit": ('[leg]\nthickness = "7 furlong"', "leg.thickness", "7 furlong", LEG, LENGTH),
    "bool length": ("[leg]\nthickness = true", "leg.thickness", "true", LEG, LENGTH),
    "negative": ("[leg]\nthickness = -5", "leg.thickness", "-5", LEG, "set it within the range"),
    "absurd": ("[leg]\nthickness = 9e9", "leg.thickness", "9000000000.0", LEG, "within the range"),
    "hair too thin": ("[leg]\nthickness = 23.999", "leg.thickness", "23.999", LEG, "the range"),
    "nan": ("[leg]\nthickness = nan", "leg.thickness", "nan", LEG, LENGTH),
    "inf": ("[leg]\nthickness = -inf", "leg.thickness", "-inf", LEG, LENGTH),
    "1e400": ("[leg]\nthickness = 1e400", "leg.thickness", "inf", LEG, LENGTH),
    "900 digits": (f"[leg]\nthickness = {'9' * 900}", "leg.thickness", "a number of", LEG, LENGTH),
    "hex digits": (f"[leg]\nthickness = 0x{'f' * 900}", "leg.thickness", "a number of", LEG, ""),
    "two in one": ('[leg]\nthickness = "44 mm 3"', "leg.thickness", "44 mm 3", LEG, LENGTH),
    "comma": ('[leg]\nthickness = "1,400"', "leg.thickness", "1,400", "write 1400", LENGTH),
    "wide digits": ('[leg]\nthickness = "６０"', "leg.thickness", "６０", LEG, LENGTH),
    # 24 mm is 60.47/64 in and 120 mm is 302.36/64 in: printed inwards as 61/64 and 4 46/64.
    "inches": (
        '[design]\nunit = "inch"\n[leg]\nthickness = 60',
        "leg.thickness",
        "60",
        "24 to 120 mm (61/64 to 4 23/32 in)",
        "set it within the range",
    ),
    "bool angle": ("[leg]\nsplay = false", "leg.splay", "false", "1 to 12 deg", "degrees"),
    "radians": ('[leg]\nsplay = "0.1 rad"', "leg.splay", "0.1 rad", "1 to 12 deg", "degrees"),
    "angle": ("[leg]\nsplay = 90", "leg.splay", "90", "1 to 12 deg", "set it within the range"),
    "bool count": ("[tenon]\ncount = true", "tenon.count", "true", "whole number of 1 to 6", WHOLE),
    "half": ("[tenon]\ncount = 2.5", "tenon.count", "2.5", "whole number of 1 to 6", WHOLE),
    "quoted": ('[tenon]\ncount = "2"', "tenon.count", "2", "whole number of 1 to 6", WHOLE),
    "no tenon": ("[tenon]\ncount = 0", "tenon.count", "0", "whole number of 1 to 6", "the range"),
    "choice": ('[leg]\nedge = "sharp"', "leg.edge", "sharp", "'square', 'roundover' or", "one of"),
    "unit": ('[design]\nunit = "cubit"', "design.unit", "cubit", '"mm" or "inch"', "my.toml"),
    "unit list": ("[design]\nunit = [1]", "design.unit", "a list", '"mm" or "inch"', "my.toml"),
    "number for text": ("[design]\ntitle = 5", "design.title", "5", "must be text", "change"),
    "long text": (f'[design]\ntitle = "{"x" * 81}"', "design.title", "xxx", "80 char", "shorten"),
    "escape": ('[design]\ntitle = "\\u001b[31m"', "design.title", " [31m", "one line", "change"),
    "new line": ('[design]\ntitle = "a\\nb"', "design.title", "a b", "one line", "change"),
    "backwards": ('[design]\nnote = "\\u202e"', "design.note", " ", "one line", "change"),
    "path": ('[design]\nname = "../../etc"', "design.name", "../../etc", "hyphens", "change"),
    "name line": ('[design]\nname = "bed\\n"', "design.name", "bed ", "hyphens", "change"),
    "absolute": ('[design]\nname = "/etc"', "design.name", "/etc", "hyphens", "change"),
    "no name": ('[design]\nname = ""', "design.name", "", "hyphens", "change"),
    "capital": ('[design]\nname = "Bed"', "design.name", "Bed", "small letters", "change"),
    "no table": ("leg = 5", "leg", "5", "must be a table", "write it as [leg]"),
    "list for table": ("[[leg]]\nsplay = 5", "leg", "a list", "must be a table", "as [leg]"),
    "mattress": ('mattress = "big"', "mattress", "big", "must be a table", "as [mattress]"),
    "table for list": (
        "[headboard.board]\nwidth = 5",
        "headboard.board",
        "a table",
        "must be a list of tables",
        "write each as [[headboard.board]]",
    ),
    "numbers for boards": (
        "[headboard]\nboard = [7]",
        "headboard.board.1",
        "7",
        "must be a table",
        "write each as [[headboard.board]]",
    ),
    "no boards": ("[footboard]\nboard = []", "footboard.board", "a list", "at least 1", "[[foot"),
    "nine boards": (
        "[footboard]\nboard = [{}, {}, {}, {}, {}, {}, {}, {}, {}]",
        "footboard.board",
        "a list",
        "at most 8",
        "[[footboard.board]]",
    ),
    "second board": (
        "[[headboard.board]]\n[[headboard.board]]\nwidth = 5",
        "headboard.board.2.width",
        "5",
        "40 to 1200 mm",
        "set it within the range",
    ),
    "size": ('[mattress]\nsize = "us-quen"', "mattress.size", "us-quen", "not in", "us-queen"),
    "size number": ("[mattress]\nsize = 160", "mattress.size", "160", "must be text", "change"),
    "wood": ('[wood]\nspecies = "oak wood"', "wood.species", "oak wood", "not in", "white-oak"),
    "slat wood": ('[wood]\nslats = "mud"', "wood.slats", "mud", "not in the table", "white-ash"),
}


@pytest.mark.parametrize("case", list(ONE_PARAMETER))
def test_a_bad_parameter_is_named_with_value_range_and_remedy(
    refuse: Refuse, sheet: Callable[[str], str], case: str
) -> None:
    text, parameter, value, allowed, remedy = ONE_PARAMETER[case]
    line = refuse(sheet(text))
    assert line.startswith(f"bedmodel: {parameter} = {value}")
    told_allowed, told_remedy = line.partition(f"{parameter} = {value}")[2].rsplit("; ", 1)
    assert allowed in told_allowed
    assert remedy in told_remedy
    assert told_remedy


@pytest.mark.parametrize(
    ("text", "parameter", "remedy"),
    [
        ("[leg]\nthicknes = 60", "leg.thicknes", "did you mean leg.thickness?"),
        ("[legs]\nthickness = 60", "legs", "did you mean leg?"),
        ("[[headboard.board]]\nwidht = 60", "headboard.board.1.widht", "headboard.board.1.width?"),
        ("[leg]\nstance = 5", "leg.stance", "did you mean frame.stance?"),
        ("[leg]\nzzzzzz = 5", "leg.zzzzzz", "bedmodel parameters lists all"),
        ("thickness = 5", "thickness", "did you mean mattress.thickness?"),
        ('"a\\nb" = 5', "a b", "bedmodel parameters lists all"),
        (f"{'k' * 900} = 5", "kkk", "bedmodel parameters lists all"),
    ],
)
def test_an_unknown_key_is_refused_with_the_nearest_name(
    refuse: Refuse, sheet: Callable[[str], str], text: str, parameter: str, remedy: str
) -> None:
    line = refuse(sheet(text))
    assert line.startswith(f"bedmodel: {parameter}")
    assert "no such parameter" in line
    assert line.endswith(remedy)


def test_a_key_that_is_also_an_attribute_is_unknown_too(
    refuse: Refuse, sheet: Callable[[str], str]
) -> None:
    for key in ("model_config", "__class__", "show", "model_fields"):
        assert "no such parameter" in refuse(sheet(f"[leg]\n{key} = 1"))
        assert "no such parameter" in refuse(sheet(f"{key} = 1"))


# --- parameters that do not go together -----------------------------------------------

# Hawthorn: platform 315, mattress 220 and 1600 x 2000, legs 68 x 68 chamfered 4, rails
# 152 x 29 with their tops 46 above the platform, headboard 34 thick set back 8, slats
# 62 x 21 with gaps of 50.8 to 69.85 in 2022 mm, runners 36 high.
TOGETHER: dict[str, tuple[str, list[str], str, str, str]] = {
    # (2022 - 17 * 62) / 18 = 53.8 and (2022 - 16 * 62) / 17 = 60.6
    "no equal gap": (
        "hawthorn",
        ["slat.gap_least=57", "slat.gap_wanted=57.2", "slat.gap_greatest=57.5"],
        "slat.width = 62 mm",
        "no count of slats gives equal gaps of 57 mm to 57.5 mm in 2022 mm",
        "16 slats leave 60.6 mm, 17 leave 53.8 mm",
    ),
    "gap outside its band": (
        "hawthorn",
        ["slat.gap_wanted=90"],
        "slat.gap_wanted = 90 mm",
        "must be 50.8 mm to 69.8 mm",
        "slat.gap_least",
    ),
    "leg thinner than board and reveal": (
        "hawthorn",
        ["leg.thickness=40"],
        "headboard.board.1.thickness = 34 mm",
        "must be at most 32 mm",
        "leg.thickness more",
    ),
    # 68 wide, less the eased 4
    "rail thicker than the leg's bearing": (
        "hawthorn",
        ["side_rail.thickness=70"],
        "side_rail.thickness = 70 mm",
        "must be at most 64 mm",
        "leg.top_width more",
    ),
    # 68 - 4 - 38 = 26
    "rail set out past the leg's bearing": (
        "hawthorn",
        ["side_rail.reveal=38"],
        "side_rail.thickness = 29 mm",
        "must be at most 26 mm",
        "side_rail.reveal less",
    ),
    # 30 - 4 = 26
    "leg narrower than the rail": (
        "hawthorn",
        ["leg.top_width=30"],
        "side_rail.thickness = 29 mm",
        "must be at most 26 mm",
        "leg.top_width more",
    ),
    # foot leg's top: 315 - 96 + 168 + 26 = 413, eased 4: 409, that is 94 above the platform
    "rail above the leg's bearing": (
        "hawthorn",
        ["side_rail.above_platform=140", "side_rail.width=300"],
        "side_rail.above_platform = 140 mm",
        "must be at most 94 mm",
        "lower the rail",
    ),
    # 120 + 46 - 20 = 146
    "rail too near the floor": (
        "hawthorn",
        ["height.platform=120"],
        "side_rail.width = 152 mm",
        "must be at most 146 mm",
        "raise height.platform",
    ),
    # 46 + 23 + 36 = 105
    "rail too narrow for its runner": (
        "hawthorn",
        ["side_rail.width=90"],
        "side_rail.width = 90 mm",
        "must be at least 105 mm",
        "make the rail wider",
    ),
    # the lower board ends at 4 1/2 + 7 1/4 = 11 3/4 in
    "boards overlap": (
        "campion",
        ["headboard.board.2.above_platform=8"],
        "headboard.board.2.above_platform = 8 in",
        "overlaps headboard.board.1, must be at least 11 3/4 in",
        "raise it",
    ),
    "board in the floor": (
        "hawthorn",
        ["headboard.board.1.above_platform=-400"],
        "headboard.board.1.above_platform = -400 mm",
        "puts its edge -85 mm above the floor, must be at least 20 mm",
        "raise the board",
    ),
    # 315 + 220 = 535
    "three heights": (
        "hawthorn",
        ["height.mattress_top=600"],
        "height.mattress_top = 600 mm",
        "platform and mattress make 535 mm",
        "leave out one",
    ),
    # 1100 - 180 = 920
    "a high bed": (
        "sorrel",
        ["height.mattress_top=1100"],
        "height.mattress_top = 1100 mm",
        "puts the platform at 920 mm, must be 120 mm to under 600 mm",
        "change height.mattress_top",
    ),
    "a wide mattress without a centre rail": (
        "hawthorn",
        ["centre_rail.use=never"],
        "centre_rail.use = never",
        "wider than 900 mm needs a centre rail",
        '"auto"',
    ),
    # 200 - 23 - 20 = 157
    "centre rail in the floor": (
        "hawthorn",
        ["centre_rail.height=200", "height.platform=200"],
        "centre_rail.height = 200 mm",
        "must be at most 157 mm",
        "make it lower",
    ),
    # half of 100
    "feet past the centre rail's end": (
        "hawthorn",
        ["support_foot.end_inset=30", "support_foot.size=100"],
        "support_foot.end_inset = 30 mm",
        "must be at least half the foot, 50 mm",
        "move the feet in",
    ),
    "slats that do not bear": (
        "hawthorn",
        ["frame.stance=120"],
        "runner.width = 38 mm",
        "for slats to bear 18 mm",
        "frame.stance",
    ),
    # 68 - 6 wall - 1.5 gap = 60.5
    "a mortise through the leg": (
        "hawthorn",
        ["tenon.embedment=70"],
        "tenon.embedment = 70 mm",
        "must be at most 60.5 mm",
        "leg.top_width more",
    ),
    # 34 - 2 * (6 wall + 0.1 clearance) = 21.8
    "a tenon too thick for its board": (
        "hawthorn",
        ["tenon.thickness=30"],
        "tenon.thickness = 30 mm",
        "must be at most 21.8 mm in headboard.board.1",
        "make it thinner",
    ),
    "an eased edge in the joint": (
        "hawthorn",
        ["leg.above_boards=0"],
        "leg.above_boards = 0 mm",
        "must be at least leg.edge_size, 4 mm",
        "make it more",
    ),
    "no room for the curve": (
        "campion",
        ["leg.curve_diameter=2"],
        "leg.curve_diameter = 2 in",
        "must be 3 13/16 in to 21 23/32 in",
        "leave it out",
    ),
}


@pytest.mark.parametrize("case", list(TOGETHER))
def test_parameters_that_do_not_go_together_are_refused(refuse: Refuse, case: str) -> None:
    example, changes, told, allowed, remedy = TOGETHER[case]
    line = refuse(example, *(part for change in changes for part in ("--set", change)))
    assert line.startswith(f"bedmodel: {told}: ")
    told_allowed, told_remedy = line.split("; ", 1)
    assert allowed in told_allowed
    assert remedy in told_remedy


def test_a_leg_too_thin_for_its_mortises_is_refused() -> None:
    """Hawthorn's headboard is 34 thick and set back 8: legs under 42 are refused."""
    accepted = []
    for tenths in range(240, 601, 5):
        sheet = load_sheet("hawthorn", changes=[f"leg.thickness={tenths / 10}"])
        refusal = refusal_of(lambda sheet=sheet: lay_out(sheet))  # type: ignore[misc]
        if refusal is not None:
            assert "leg.thickness more" in refusal.remedy
            continue
        accepted.append(tenths / 10)
        layout = lay_out(sheet)
        for board in (*layout.head.boards, *layout.foot.boards):
            mortise = board.tenons.thickness + 2 * board.tenons.cheek_clearance
            assert tenths / 10 - 8 - 34 / 2 - mortise / 2 >= 6  # tenon.wall_least
    assert accepted[0] == 42
    assert accepted == sorted(accepted)


# Where the bound is of the parameter itself, not of what follows from it.
BOUNDED = [
    name
    for name, (_, _, _, allowed, _) in TOGETHER.items()
    if "must be at " in allowed and "floor" not in allowed
]


@pytest.mark.parametrize("case", BOUNDED)
def test_the_bound_in_a_refusal_is_the_bound(case: str) -> None:
    """A step inside the printed bound the refusal is gone, a step outside it is there."""
    example, changes, told, _, _ = TOGETHER[case]
    parameter = told.partition(" = ")[0]
    with pytest.raises(InputError) as refusal:
        lay_out(load_sheet(example, changes=changes))
    way, bound, unit = re.search(  # type: ignore[union-attr]
        r"must be at (most|least) (?:[^,]+, )?(\d[\d./ ]*) (mm|in)", str(refusal.value)
    ).groups()
    step = 0.1 if unit == "mm" else 25.4 / 64
    size = float(sum(map(Fraction, bound.split()))) * (1 if unit == "mm" else 25.4)
    inside = -step if way == "most" else step
    assert refused_about(example, changes, parameter, size + inside) is False
    assert refused_about(example, changes, parameter, size - inside) is True


def refused_about(example: str, changes: list[str], parameter: str, size: float) -> bool:
    sheet = load_sheet(example, changes=[*changes, f"{parameter}={size!r} mm"])
    refusal = refusal_of(lambda: lay_out(sheet))
    return refusal is not None and refusal.parameter == parameter


# --- files that are no sheets -----------------------------------------------------------

SHEETS = {
    "empty key": ("= 5", "is not valid TOML"),
    "no TOML": ("the legs are 60 mm", "is not valid TOML"),
    "binary": (bytes(range(256)), "is not UTF-8 text"),
    "nulls": (b"\0" * 100, "is not valid TOML"),
    "picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not UTF-8 text"),
    "twice": ("[leg]\nsplay = 5\n[leg]\n", "is not valid TOML"),
    "deep": ("a = " + "[\n" * 100_000, "is not valid TOML"),
    "long line": (f"# {'x' * 1001}", "lines must be at most 1000"),
    # Each of these would take the TOML reader minutes and gigabytes.
    "dotted key": (".".join("a" * 100_000) + " = 1", "lines must be at most 1000"),
    "dotted table": (f"[{'.'.join('a' * 100_000)}]", "lines must be at most 1000"),
    "huge": ("#\n" * (128 * 1024 + 1), "must be at most 256 kB"),
    "long number": (f"a = {'9' * 5000}", "lines must be at most 1000"),
}


@pytest.mark.parametrize("case", list(SHEETS))
def test_a_file_that_is_no_sheet_is_refused(
    refuse: Refuse, sheet: Callable[[str | bytes], str], case: str
) -> None:
    text, reason = SHEETS[case]
    path = sheet(text)
    line = refuse(path)
    assert line.startswith(f"bedmodel: sheet = {path[:60]}")
    assert reason in line
    assert "; " in line.partition(reason)[2]


def test_a_deep_but_readable_sheet_is_refused_by_its_key(
    refuse: Refuse, sheet: Callable[[str], str]
) -> None:
    assert "a: no such parameter" in refuse(sheet("a = " + "[" * 300 + "]" * 300))
    assert "a: no such parameter" in refuse(sheet(".".join("a" * 450) + " = 1"))
    assert "leg.a: no such parameter" in refuse(sheet(".".join(["leg", *"a" * 450]) + " = 1"))


def test_a_sheet_just_under_the_limits_is_read(sheet: Callable[[str], str]) -> None:
    assert load_sheet(sheet(f"# {'x' * 990}\n" * 200 + "[leg]\nthickness = 61")).leg.thickness == 61


def test_a_sheet_saved_with_a_byte_order_mark_is_read(sheet: Callable[[bytes], str]) -> None:
    assert load_sheet(sheet(b"\xef\xbb\xbf[leg]\r\nthickness = 61\r\n")).leg.thickness == 61


@pytest.mark.parametrize(
    ("where", "reason"),
    [
        (".", "is a folder"),
        ("/nowhere/my.toml", "no such file"),
        ("hawthron", "no such file"),
        ("", "no such file"),
        ("my.toml\0", "no such file"),
        ("a\nb\x1b[31m", "no such file"),
        ("x" * 5000, "no such file"),
        (os.devnull, "no such file"),
    ],
)
def test_a_sheet_that_is_not_there_is_refused_with_the_examples(
    refuse: Refuse, where: str, reason: str
) -> None:
    line = refuse(where)
    names = ", ".join(path.stem for path in example_sheets())
    assert f": {reason}; give a .toml file, or one of {names}" in line


def test_a_sheet_of_the_makers_own_comes_before_the_example_of_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert load_sheet("hawthorn.toml").leg.thickness == 68
    Path("hawthorn.toml").write_text("[leg]\nthickness = 61", "utf-8")
    assert load_sheet("hawthorn.toml").leg.thickness == 61
    assert load_sheet("hawthorn").leg.thickness == 68


# --- the command line's own options -------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "reason", "remedy"),
    [
        ("leg.splay", "must be PARAMETER=VALUE", "for example leg.splay=6"),
        ("=6", "must be PARAMETER=VALUE", "for example"),
        ("", "must be PARAMETER=VALUE", "for example"),
        (".splay=6", "must be PARAMETER=VALUE", "for example"),
        ("leg..splay=6", "must be PARAMETER=VALUE", "for example"),
        ("headboard.board.3.width=9", "headboard.board.3: must be a number from 1 to 2", "add a"),
        ("headboard.board.0.width=9", "headboard.board.0: must be a number from 1 to 2", "add a"),
        ("headboard.board.-1.width=9", "headboard.board.-1: must be a number", "add a table"),
        ("headboard.board.².width=9", "headboard.board.²: must be a number", "add a table"),
        ("headboard.board.٢.width=9", "headboard.board.٢: must be a number", "add a table"),
        (f"headboard.board.{'9' * 5000}.width=9", "headboard.board.9", ""),
        ("headboard.board.width=9", "headboard.board is a list of tables", "board.1.width"),
        ("headboard.board.1=9", "headboard.board is a list of tables", "name one"),
        (".".join("a" * 30_000) + "=1", "must be PARAMETER=VALUE", "for example"),
        ("leg.splay.x=9", "leg.splay has no parameters", "set leg.splay itself"),
        ("leg.splay.x.y=9", "leg.splay has no parameters", "set leg.splay itself"),
    ],
)
def test_a_malformed_change_is_refused(
    refuse: Refuse, change: str, reason: str, remedy: str
) -> None:
    line = refuse("campion", "--set", change)
    assert line.startswith(f"bedmodel: --set = {change[:70]}")
    assert reason in line
    assert remedy in line


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("leg=5", "leg = 5: must be a table; write it as [leg]"),
        ("headboard.board=5", "headboard.board = 5: must be a list of tables"),
        ("leg.thicknes=60", "leg.thicknes: no such parameter; did you mean leg.thickness?"),
        ("support_foot.count=true", "support_foot.count = true: must be a whole number"),
        ("support_foot.count=２", "support_foot.count = ２: must be a whole number"),
        ("leg.thickness=６０", "leg.thickness = ６０: "),
        ("leg.thickness=1_00", "leg.thickness = 1_00: "),
        ("leg.thickness=nan", "leg.thickness = nan: "),
        ("leg.thickness=", "leg.thickness = : is empty"),
        (f"leg.thickness={'9' * 5000}", "leg.thickness = inf: must be a finite number"),
        ("design.title=a\nb", "design.title = a b: must be one line"),
        ("design.title=\udcff", "design.title =  : must be"),
        ("a.b.c.d=1", "a: no such parameter"),
        ("leg.a.b.c=1", "leg.a: no such parameter"),
    ],
)
def test_a_change_is_checked_like_a_sheet(refuse: Refuse, change: str, told: str) -> None:
    assert refuse("hawthorn", "--set", change).startswith(f"bedmodel: {told}")


def test_changes_are_made_as_a_maker_means_them() -> None:
    changed = load_sheet(
        "campion",
        changes=[
            "leg.thickness=2",
            "headboard.board.2.width=9 in",
            "design.title=1984",
            "support_foot.count=+3",
            "leg.splay=5e0",
            "side_rail.above_platform= 1 3/4 in ",
            "leg.thickness=2.25",
        ],
    )
    assert changed.leg.thickness == 57.15
    assert [board.width for board in changed.headboard.board] == [184.15, 228.6]
    assert changed.design.title == "1984"
    assert changed.support_foot.count == 3
    assert changed.leg.splay == 5
    assert changed.side_rail.above_platform == 44.45


def test_a_list_that_a_sheet_leaves_out_can_be_changed(sheet: Callable[[str], str]) -> None:
    changed = load_sheet(sheet(""), changes=["headboard.board.1.width=333"])
    assert [board.width for board in changed.headboard.board] == [333]
    assert changed.footboard == Sheet().footboard


@pytest.mark.parametrize(
    ("mattress", "told"),
    [
        ("nonsense", "--mattress = nonsense: must be width x length"),
        ("", "--mattress = : must be width x length"),
        ("60x80x", "--mattress = 60x80x: must be width x length"),
        ("60x80x10x3", "--mattress = 60x80x10x3: must be width x length"),
        ("nanxnan", "--mattress = nanxnan: its width 'nan' is not a number"),
        ("1e9x1e9", "--mattress = 1e9x1e9: its width '1e9' has the unknown unit"),
        ("140x200", "--mattress = 140x200: could be in more than one unit"),
        ("60x80 furlong", "--mattress = 60x80 furlong: its length"),
        ("6" * 50_000, "--mattress = 666"),
        ("1x1", "mattress.width = 25.4 mm: must be a length of 600 to 2200 mm"),
        ("70x140", "mattress.length = 3556.0 mm: must be a length of 1600 to 2300 mm"),
        ("-1400x1900 mm", "mattress.width = -1400.0 mm: must be"),
        ("900000x900000", "mattress.width = 900000.0 mm: must be"),
        ("1400x1900x1", "mattress.thickness = 1.0 mm: must be a length of 80 to 520 mm"),
        ("1400x1900x2000", "mattress.thickness = 2000.0 mm: must be"),
    ],
)
def test_a_mattress_that_cannot_be_is_refused(refuse: Refuse, mattress: str, told: str) -> None:
    line = refuse("campion", f"--mattress={mattress}")
    assert line.startswith(f"bedmodel: {told}")
    assert "; " in line


def test_a_metric_mattress_goes_on_a_sheet_in_inches() -> None:
    layout = lay_out(load_sheet("campion", mattress="1400x1900x220"))
    assert vars(layout.mattress) == {"width": 1400, "length": 1900, "thickness": 220}
    assert layout.platform == 12.5 * 25.4
    assert layout.half_foot == 700 + 11  # 11 mm of clearance on each side by default


def test_size_and_mattress_together_are_refused(refuse: Refuse) -> None:
    line = refuse("campion", "--size", "us-king", "--mattress", "1400x1900")
    assert line == "bedmodel: --mattress = 1400x1900: does not go with --size; give one of the two"
    assert "does not go with" in refuse("--size", "all", "--mattress", "1400x1900")


@pytest.mark.parametrize(
    ("size", "nearest"),
    [("us-quen", "us-queen"), ("eu-160x20", "eu-160x200"), ("", ""), ("x" * 40, "")],
)
def test_an_unknown_size_is_refused_with_the_nearest(
    refuse: Refuse, size: str, nearest: str
) -> None:
    line = refuse("campion", "--size", size)
    assert line.startswith(f"bedmodel: mattress.size = {size[:70]}")
    assert "is not in the table" in line
    assert nearest in line
    assert "`bedmodel sizes` lists them all" in line


@pytest.mark.parametrize("verb", ["build", "check", "show"])
def test_every_verb_refuses_alike(refuse: Refuse, verb: str) -> None:
    line = refuse("hawthorn", "--set", "leg.thickness=7 furlong", verb=verb)
    assert line.startswith("bedmodel: leg.thickness = 7 furlong: has the unknown unit 'furlong'")
    line = refuse("hawthorn", "--set", "side_rail.thickness=70", verb=verb)
    assert line.startswith("bedmodel: side_rail.thickness = 70 mm: wider than the leg's bearing")


def test_all_sizes_of_a_bad_sheet_are_refused_once(
    refuse: Refuse, sheet: Callable[[str], str]
) -> None:
    assert "leg.thickness = 5" in refuse(sheet("[leg]\nthickness = 5"), "--size", "all")


def test_other_verbs_refuse_too(refuse: Refuse, sheet: Callable[[str], str]) -> None:
    assert "no parameter starts so; try design, mattress" in refuse("zzz", verb="parameters")
    assert "no parameter starts so" in refuse("\x1b[31m", verb="parameters")
    assert "does not go with --schema" in refuse("leg", "--schema", verb="parameters")
    assert "no such file" in refuse("zzz", verb="sizes")
    assert "leg = 5: must be a table" in refuse(sheet("leg = 5"), verb="sizes")


# --- as a user sees it -----------------------------------------------------------------------


def test_a_refusal_in_a_fresh_process_is_light_and_leaves_nothing(tmp_path: Path) -> None:
    probe = (
        "import sys\n"
        "from bedmodel.cli import main\n"
        "code = main(sys.argv[1:])\n"
        "heavy = {'cadquery', 'OCP', 'numpy', 'ezdxf'} & set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else code)\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    (tmp_path / "kept").mkdir()
    for arguments, told in {
        ("hawthorn", "--set", "leg.thickness=7 furlong"): "leg.thickness = 7 furlong: has the",
        ("hawthorn", "--set", "slat.gap_wanted=90"): "slat.gap_wanted = 90 mm: must be 50.8 mm",
        ("hawthorn", "--set", "wood.species=mud"): "wood.species = mud: is not in the table",
        ("--size", "us-quen"): "mattress.size = us-quen: is not in the table",
        (str(tmp_path),): f"sheet = {str(tmp_path)[:60]}",
    }.items():
        done = subprocess.run(
            [sys.executable, "-c", probe, "build", *arguments],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
        )
        assert (done.returncode, done.stdout) == (2, ""), done.stderr
        assert done.stderr.startswith(f"bedmodel: {told}")
        assert done.stderr.count("\n") == 1
        assert tree(tmp_path) == {"kept": None}


# --- a thousand random sheets -------------------------------------------------------------------

EXAMPLES: list[dict[str, Any]] = [tomllib.loads(p.read_text("utf-8")) for p in example_sheets()]

_text = st.text(max_size=20) | st.sampled_from(
    ["7 1/2 in", "44 mm", "1e400", "nan", "-3 in", "1/0 in", "½", "٣ mm", "", "\x1b[31m", "x" * 500]
)
_scalar = (
    st.booleans()
    | st.integers()
    | st.integers(-(10**40), 10**40)
    | st.integers(0, 600)
    | st.floats()
    | st.floats(0, 600)
    | _text
    | st.dates()
    | st.times()
)
_value = st.recursive(
    _scalar,
    lambda inner: (
        st.lists(inner, max_size=9) | st.dictionaries(st.text(max_size=9), inner, max_size=4)
    ),
    max_leaves=8,
)


@st.composite
def mutated(draw: st.DrawFn, tame: bool = False) -> dict[str, Any]:
    """One of the examples with a few of its values moved, or put quite out of place."""
    table = copy.deepcopy(draw(st.sampled_from(EXAMPLES)))
    for _ in range(draw(st.integers(1, 4))):
        place: Any = table
        while True:
            keys = list(place) if isinstance(place, dict) else list(range(len(place)))
            step = draw(st.sampled_from(keys)) if keys else None
            deeper = step is not None and isinstance(place[step], dict | list)
            if deeper and (tame or draw(st.integers(0, 5))):
                place = place[step]
                continue
            break
        if tame:
            place[step] = draw(st.integers(10, 120).map(lambda size: f"{size} mm"))
        elif isinstance(place, dict):
            if step is None or draw(st.integers(0, 4)) == 0:
                step = draw(st.text(max_size=12) | st.sampled_from(["width", "edge", "board"]))
            place[step] = draw(_value)
        elif step is None or draw(st.booleans()):
            place.append(draw(_value))
        else:
            place[step] = draw(_value)
    return table


_tables = mutated() | mutated(tame=True) | st.dictionaries(st.text(max_size=9), _value, max_size=5)


@many
@given(_tables)
def test_a_random_sheet_is_a_sheet_or_refused(table: dict[str, Any]) -> None:
    before = copy.deepcopy(table)
    assert holds(refusal_of(lambda: lay_out(check_sheet(table))))
    assert repr(table) == repr(before)  # by text, since nan is not equal to itself


@some
@given(
    st.binary(max_size=300)
    | st.text(max_size=300).map(str.encode)
    | st.tuples(st.sampled_from(example_sheets()), st.integers(0, 1500), st.binary(max_size=9)).map(
        lambda cut: spoiled(*cut)
    )
)
def test_a_random_file_is_a_sheet_or_refused(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "my.toml")
        path.write_bytes(data)
        assert holds(refusal_of(lambda: load_sheet(str(path))))


def spoiled(path: Path, at: int, data: bytes) -> bytes:
    text = path.read_bytes()
    return text[:at] + data + text[at + len(data) :]


_step = st.sampled_from(["leg", "board", "headboard", "1", "2", "9", "width", "splay", "", "x"])
_change = st.builds(
    lambda steps, equals, value: ".".join(steps) + equals + value,
    st.lists(_step | st.text(max_size=6), min_size=1, max_size=5),
    st.sampled_from(["=", "=", "=", "", " = "]),
    _text | st.floats().map(str) | st.integers().map(str),
)


@some
@given(
    st.lists(_change, max_size=3),
    st.none() | _text | st.from_regex(r"\A[0-9]{1,5}[xX× ]{1,3}[0-9]{1,5}( ?(mm|in|cm))?\Z"),
)
def test_random_options_are_understood_or_refused(changes: list[str], mattress: str | None) -> None:
    assert holds(refusal_of(lambda: load_sheet("campion", changes=changes, mattress=mattress)))


def test_random_sheets_come_out_both_ways() -> None:
    """The examples drawn above reach refusals of many kinds, and good sheets too."""
    seen: set[str] = set()

    @settings(many, max_examples=200)
    @given(_tables)
    def draw(table: dict[str, Any]) -> None:
        refusal = refusal_of(lambda: lay_out(check_sheet(table)))
        seen.add("" if refusal is None else refusal.parameter)

    draw()
    assert "" in seen
    assert len(seen) > 20
