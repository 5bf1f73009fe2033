"""Every parameter is documented, ranged and read alike in each form it can be given.

Oracles: the files that editors and people read (`shared/`), an independent JSON schema
validator, and inches converted here by exact fractions.
"""

from __future__ import annotations

import copy
import dataclasses
import json
import re
import tomllib
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pydantic import BaseModel, ValidationError

from bedmodel import cli
from bedmodel.cuts import Mortise
from bedmodel.errors import InputError
from bedmodel.reference import all_parameters
from bedmodel.sheets import as_table, check_sheet, example_sheets, load_sheet, parameters
from bedmodel.skeleton import Layout, lay_out
from bedmodel.spec import Sheet

ROOT = Path(__file__).resolve().parent.parent
SHARED = ROOT / "shared"
EXAMPLES = [path.stem for path in example_sheets()]
NAMES = [name for name, _ in parameters()]
RANGED = [
    name
    for name, field in parameters()
    if isinstance(field.json_schema_extra, dict) and "low" in field.json_schema_extra
]

Table = dict[str, Any]

# All that a sheet may hold, as defaults: with one row in each list that is empty else.
ROWS: Table = {
    "fastener": {"hook_plate": [{}], "bracket": [{}], "bolt": [{}]},
    "wood": {"own": [{}]},
}
DEFAULTS = check_sheet(ROWS)


def extra(name: str) -> dict[str, Any]:
    found = dict(parameters())[name].json_schema_extra
    assert isinstance(found, dict)
    return dict(found)


def with_value(name: str, value: object, unit: str = "mm") -> Table:
    """A sheet that holds one parameter only."""
    table: Table = {"design": {"unit": unit}}
    place = table
    *steps, last = name.split(".")
    for step, following in zip(steps, [*steps[1:], ""], strict=True):
        if step == "N":
            continue
        if following == "N":
            place[step] = [{}]
            place = place[step][0]
        else:
            place = place.setdefault(step, {})
    place[last] = value
    if name.startswith("climate.") and last in PARTNERS:
        partner, partners_value = PARTNERS[last]
        place[partner] = partners_value
    return table


# What is given with another or not at all: the partner's value, which both ends go with.
PARTNERS = {
    "driest": ("dampest", 30.0),
    "dampest": ("driest", 0.0),
    "dry_humidity": ("damp_humidity", 95.0),
    "damp_humidity": ("dry_humidity", 0.0),
}


def value_of(sheet: Sheet, name: str) -> Any:
    place: Any = sheet
    for step in name.split("."):
        place = place[0] if step == "N" else getattr(place, step)
    return place


def printed(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert cli.main(argv) == 0
    return capsys.readouterr().out


# --- documented ------------------------------------------------------------------------


@pytest.mark.parametrize("parameter", list(all_parameters()), ids=lambda p: p.name)
def test_parameter_is_documented(parameter: Any) -> None:
    assert re.fullmatch(r"[a-z_]+(\.[a-z_]+|\.N)*\.[a-z_]+", parameter.name)
    assert len(parameter.help) > 5
    assert parameter.help.endswith(".")
    assert parameter.quantity in ("length", "angle", "count", "number", "choice", "text")
    assert parameter.default
    if parameter.quantity == "choice":
        assert " | " in parameter.range
    elif parameter.quantity != "text":
        assert re.fullmatch(
            r"[-\d.]+ to [-\d.]+( mm| deg| deg C| kg| N| MPa| GPa| %| kN\.m/rad| N\.m)?",
            parameter.range,
        )
    # A length without a default says what it is worked out from, not "none".
    if parameter.quantity in ("length", "count", "number"):
        assert parameter.default != "none"


def test_the_names_are_the_keys_of_the_sheet() -> None:
    """Walked here by hand through what an all-default sheet dumps, no list left empty."""

    def walk(table: Any, prefix: str) -> list[str]:
        if isinstance(table, dict):
            return [n for key, value in table.items() for n in walk(value, f"{prefix}.{key}")]
        if isinstance(table, list):
            return walk(table[0], f"{prefix}.N")
        return [prefix.lstrip(".")]

    assert walk(DEFAULTS.model_dump(mode="json"), "") == NAMES
    assert len(NAMES) == len(set(NAMES))


@pytest.mark.parametrize("name", RANGED)
def test_default_lies_in_its_range(name: str) -> None:
    default = value_of(DEFAULTS, name)
    if default is not None:
        assert extra(name)["low"] <= default <= extra(name)["high"]
    assert extra(name)["low"] < extra(name)["high"]


def test_a_sheet_of_defaults_is_a_bed() -> None:
    assert isinstance(lay_out(Sheet()), Layout)
    assert check_sheet({}) == Sheet()


# --- ranges ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", RANGED)
def test_both_ends_of_a_range_are_accepted_and_nothing_past_them(name: str) -> None:
    quantity, low, high = (extra(name)[key] for key in ("quantity", "low", "high"))
    whole = quantity == "count"
    unit = {"length": " mm", "angle": " deg"}.get(quantity)
    for end in (low, high):
        number = int(end) if whole else float(end)
        assert value_of(check_sheet(with_value(name, number)), name) == end
        if unit is not None:
            text = f"{end!r}{unit}"
            assert value_of(check_sheet(with_value(name, text, "inch")), name) == end
    step = 1 if whole else 1e-6
    for past in (low - step, high + step):
        with pytest.raises(InputError) as refusal:
            check_sheet(with_value(name, past))
        assert refusal.value.parameter == name.replace(".N.", ".1.")
        assert f"{low:g} to {high:g}" in refusal.value.allowed


@pytest.mark.parametrize("name", [n for n in RANGED if extra(n)["quantity"] == "length"])
def test_the_range_that_a_refusal_prints_in_inches_is_accepted(name: str) -> None:
    with pytest.raises(InputError) as refusal:
        check_sheet(with_value(name, 9999, "inch"))
    shown = re.search(r"\((.+) to (.+ in)\)", refusal.value.allowed)
    assert shown
    for end in shown.groups():
        check_sheet(with_value(name, end, "inch"))


# --- the same number in every form -------------------------------------------------------


@pytest.mark.parametrize("name", [n for n in RANGED if extra(n)["quantity"] == "length"])
def test_a_length_is_the_same_in_every_form(name: str) -> None:
    """Text with a unit equals the plain number, in a sheet of either unit."""
    low, high = Fraction(extra(name)["low"]), Fraction(extra(name)["high"])
    # In 64ths of an inch, so that every form is exact.
    inches = Fraction(round((low + high) / 2 / Fraction("25.4") * 64) or 1, 64)
    mm = float(inches * Fraction("25.4"))
    sign, whole, part = "-" if inches < 0 else "", abs(inches) // 1, abs(inches) % 1
    mixed = f"{sign}{whole} {part} in" if part and whole else f"{inches} in"
    forms: list[tuple[object, str]] = [
        (mm, "mm"),
        (f"{mm!r}", "mm"),
        (f"{mm!r} mm", "mm"),
        (f"{mm!r} mm", "inch"),
        (mixed, "mm"),
        (mixed, "inch"),
        (mixed.removesuffix(" in"), "inch"),
        (float(inches), "inch"),
        (f"{float(inches)!r} inches", "mm"),
    ]
    read = {form: value_of(check_sheet(with_value(name, form[0], form[1])), name) for form in forms}
    assert read == dict.fromkeys(forms, mm)


def test_angles_and_counts_do_not_take_the_unit() -> None:
    for unit in ("mm", "inch"):
        assert check_sheet(with_value("leg.splay", 6, unit)).leg.splay == 6
        assert check_sheet(with_value("leg.splay", "6 deg", unit)).leg.splay == 6
        assert check_sheet(with_value("support_foot.count", 3, unit)).support_foot.count == 3
    assert check_sheet({"design": {"unit": "inch"}}).leg.thickness == Sheet().leg.thickness


def twin(table: Table, rewrite: Callable[[object], object]) -> Table:
    """A copy of a sheet with every length rewritten."""
    made = copy.deepcopy(table)
    lengths = {n for n in NAMES if extra(n)["quantity"] == "length"}
    for section, values in made.items():
        for key, value in values.items():
            if f"{section}.{key}" in lengths:
                values[key] = rewrite(value)
            elif isinstance(value, list):
                values[key] = [{k: rewrite(v) for k, v in board.items()} for board in value]
    return made


def same_bed(one: Sheet, other: Sheet) -> None:
    """Hold the two layouts equal to the last bit, but for the sheet they came from."""
    left, right = ({**vars(lay_out(sheet)), "sheet": None} for sheet in (one, other))
    assert left == right


def test_a_twin_in_mm_of_a_sheet_in_inches_is_the_same_bed() -> None:
    """Fractions of an inch become plain millimetres: "7 1/4 in" is 184.15."""

    def in_mm(value: object) -> float:
        words = str(value).removesuffix("in").split()
        sign = -1 if words[0].startswith("-") else 1
        return float(sign * sum(abs(Fraction(word)) for word in words) * Fraction("25.4"))

    table = tomllib.loads((SHARED / "campion.toml").read_text("utf-8"))
    assert in_mm("-4 1/4 in") == -107.95
    metric = twin(table, in_mm)
    metric["design"]["unit"] = "mm"
    # Tenons are rounded to the unit's own steps, so here they are given in both.
    for sheet in (table, metric):
        sheet["tenon"] = {"thickness": "9.5 mm"}
    same_but_for_the_drills(check_sheet(table), check_sheet(metric))
    # Bolts have no pilot holes.
    for sheet in (table, metric):
        sheet["side_rail"]["joint"] = "bolts"
        sheet["runner"]["joint"] = "glue"
        sheet["slat"]["joint"] = "loose"
    same_bed(check_sheet(table), check_sheet(metric))
    assert check_sheet(metric).headboard.board[0].width == 184.15


def test_a_twin_in_inches_of_a_sheet_in_mm_is_the_same_bed() -> None:
    table = tomllib.loads((SHARED / "hawthorn.toml").read_text("utf-8"))
    imperial = twin(table, lambda value: f"{value} mm")
    imperial["design"]["unit"] = "inch"
    for sheet in (table, imperial):
        sheet["tenon"] = {"thickness": "11 mm"}
    same_but_for_the_drills(check_sheet(table), check_sheet(imperial))
    for sheet in (table, imperial):
        sheet["side_rail"]["joint"] = "bolts"
        sheet["runner"]["joint"] = "glue"
        sheet["slat"]["joint"] = "loose"
    same_bed(check_sheet(table), check_sheet(imperial))


def same_but_for_the_drills(one: Sheet, other: Sheet) -> None:
    """Hold two layouts equal but for pilot holes, and what stands clear of them.

    Drills come in steps of 0.1 mm or 1/64 in, each the next under the wanted diameter.
    """
    left, right = (lay_out(sheet) for sheet in (one, other))
    assert left.fastener is not None
    assert right.fastener is not None
    step = 25.4 / 64
    for a, b in zip(left.fastener.corners, right.fastener.corners, strict=True):
        assert (a.joint, a.face, a.fitting.loose) == (b.joint, b.face, b.fitting.loose)
        assert a.fitting.hooks == b.fitting.hooks
        cuts = (*a.fitting.leg_cuts, *a.fitting.rail_cuts)
        theirs = (*b.fitting.leg_cuts, *b.fitting.rail_cuts)
        assert {cut.role for cut in cuts} == {"recess", "pocket", "pilot"}
        for mine, yours in zip(cuts, theirs, strict=True):
            if mine.role != "pilot":
                assert mine == yours
                continue
            assert isinstance(mine, Mortise)
            assert isinstance(yours, Mortise)
            assert 0 < abs(mine.length - yours.length) < step
            assert mine.is_round
            assert yours.is_round
            assert dataclasses.replace(mine, length=0, width=0) == dataclasses.replace(
                yours, length=0, width=0
            )
    for mine, yours in zip(left.ends, right.ends, strict=True):
        for board, twin_board in zip(mine.boards, yours.boards, strict=True):
            plan, twin_plan = board.tenons, twin_board.tenons
            assert plan.heights == pytest.approx(twin_plan.heights, abs=step)
            # Made narrower by whole millimetres until they stand clear.
            assert plan.width == pytest.approx(twin_plan.width, abs=1.0)
            assert plan.embedment_leg == pytest.approx(twin_plan.embedment_leg, abs=step)


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_length_of_an_example_may_be_text(example: str) -> None:
    sheet = load_sheet(example)
    word = {"mm": "mm", "inch": "in"}[sheet.design.unit]
    table = tomllib.loads((SHARED / f"{example}.toml").read_text("utf-8"))
    texts = twin(table, lambda v: v if isinstance(v, str) else f"{v} {word}")
    assert texts != table
    assert check_sheet(texts, drawings=sheet.drawings) == sheet


# --- the schema and the reference ------------------------------------------------------------


def regenerate(file: str, option: str) -> str:
    return f"out of date: python3 -m bedmodel parameters {option} > shared/{file}"


@pytest.mark.parametrize(
    ("file", "option"), [("sheet.schema.json", "--schema"), ("PARAMETERS.md", "--markdown")]
)
def test_shared_file_is_what_the_command_prints(
    file: str, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = (SHARED / file).read_bytes().decode("utf-8")
    assert kept == printed(["parameters", option], capsys), regenerate(file, option)


@pytest.fixture
def schema() -> jsonschema.Draft202012Validator:
    made = json.loads((SHARED / "sheet.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(made)
    return jsonschema.Draft202012Validator(made)


@pytest.mark.parametrize("example", EXAMPLES)
def test_schema_accepts_the_examples_which_name_it(
    example: str, schema: jsonschema.Draft202012Validator
) -> None:
    text = (SHARED / f"{example}.toml").read_text("utf-8")
    assert text.startswith("#:schema ./sheet.schema.json\n")
    assert list(schema.iter_errors(tomllib.loads(text))) == []


@pytest.mark.parametrize(
    "table",
    [
        {"leg": {"thicknes": 60}},
        {"legs": {}},
        {"headboard": {"board": [{"widht": 9}]}},
        {"headboard": {"board": {}}},
        {"headboard": {"board": []}},
        {"leg": []},
        {"leg": {"thickness": True}},
        {"leg": {"thickness": []}},
        {"leg": {"thickness": None}},
        {"leg": {"edge": "sharp"}},
        {"design": {"unit": "cubit"}},
        {"design": {"name": "../../etc"}},
        {"design": {"title": "a\x1b[31m"}},
        {"design": {"title": "x" * 81}},
        {"tenon": {"count": 2.5}},
        {"tenon": {"count": "2"}},
        {"tenon": {"count": 7}},
        {"wood": {"slats": 5}},
    ],
    ids=json.dumps,
)
def test_schema_refuses_what_the_sheet_refuses(
    table: Table, schema: jsonschema.Draft202012Validator
) -> None:
    assert not schema.is_valid(table)
    with pytest.raises(InputError):
        check_sheet(table)


@pytest.mark.parametrize("name", NAMES)
def test_schema_offers_every_parameter_and_its_default(
    name: str, schema: jsonschema.Draft202012Validator
) -> None:
    """What an editor shows and inserts is itself accepted, and means the default."""
    definitions = schema.schema["$defs"]
    entry: Any = schema.schema
    for step in name.split("."):
        if step == "N":
            entry = definitions[entry["items"]["$ref"].rpartition("/")[2]]
        else:
            if "$ref" in entry:
                entry = definitions[entry["$ref"].rpartition("/")[2]]
            assert entry["additionalProperties"] is False
            entry = entry["properties"][step]
    assert entry["description"]
    if "default" in entry:
        table = with_value(name, entry["default"])
        table["design"].setdefault("unit", "mm")
        assert schema.is_valid(table)
        assert value_of(check_sheet(table), name) == value_of(DEFAULTS, name)
    else:
        assert value_of(DEFAULTS, name) is None


def test_reference_lists_every_parameter_once(capsys: pytest.CaptureFixture[str]) -> None:
    rows = re.findall(r"(?m)^\| `([^`]+)` \|(.*)\|$", printed(["parameters", "--markdown"], capsys))
    assert [name for name, _ in rows] == NAMES
    assert {row.count("|") for _, row in rows} == {2}  # four cells, none split by a stray bar


def test_parameters_verb_lists_every_parameter(capsys: pytest.CaptureFixture[str]) -> None:
    records = json.loads(printed(["parameters", "--json"], capsys))
    assert [record["name"] for record in records] == NAMES
    text = printed(["parameters"], capsys)
    assert re.findall(r"(?m)^([a-z_]+\.[a-zA-Z_.]+) ", text) == NAMES
    only = json.loads(printed(["parameters", "leg", "--json"], capsys))
    assert [record["name"] for record in only] == [n for n in NAMES if n.startswith("leg.")]


# --- frozen ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_cannot_be_changed(name: str) -> None:
    table = tomllib.loads((SHARED / "campion.toml").read_text("utf-8"))
    sheet = check_sheet(table | ROWS)
    *steps, last = name.split(".")
    place: Any = value_of(sheet, ".".join(steps))
    assert isinstance(place, BaseModel)
    before = getattr(place, last)
    with pytest.raises(ValidationError):
        setattr(place, last, before)
    with pytest.raises(ValidationError):
        delattr(place, last)
    with pytest.raises(ValidationError):
        setattr(place, f"{last}_too", before)


def test_sheets_and_layouts_are_values() -> None:
    one, other = load_sheet("campion"), load_sheet("campion")
    assert one is not other
    assert one == other
    assert hash(one) == hash(other)
    assert isinstance(one.headboard.board, tuple)
    assert lay_out(one) == lay_out(other)
    with pytest.raises(dataclasses.FrozenInstanceError):
        lay_out(one).platform = 5.0  # type: ignore[misc]


def test_checking_a_table_leaves_it_alone() -> None:
    table = tomllib.loads((SHARED / "campion.toml").read_text("utf-8"))
    before = copy.deepcopy(table)
    sheet = check_sheet(table)
    table["headboard"]["board"].clear()
    table["leg"].clear()
    assert sheet == check_sheet(before)


def test_auto_takes_a_parameter_out_of_the_sheet() -> None:
    from bedmodel.sheets import load_sheet

    assert load_sheet("sorrel").height.mattress_top == 405
    changed = load_sheet("sorrel", changes=["height.mattress_top=auto", "height.platform=200 mm"])
    assert changed.height.mattress_top is None
    assert load_sheet("sorrel", changes=["leg.splay=auto"]).leg.splay == 5  # the default
    assert load_sheet("sorrel", changes=["centre_rail.use=auto"]).centre_rail.use == "auto"


def test_auto_adds_no_row_to_a_list() -> None:
    changed = load_sheet("campion", changes=["fastener.hook_plate.1.length=auto"])
    assert changed == load_sheet("campion")
    with pytest.raises(InputError, match=r"fastener\.hook_plate\.2: must be a number from 1 to 1"):
        load_sheet("campion", changes=["fastener.hook_plate.2.length=auto"])


def test_a_change_begins_a_list_of_the_makers_own_rows() -> None:
    changes = ["fastener.hook_plate.1.length=5 1/2", "fastener.hook_plate.1.screws=3"]
    (row,) = load_sheet("campion", changes=changes).fastener.hook_plate
    assert (row.name, row.length, row.screws) == ("own", 5.5 * 25.4, 3)
    # The rest is as the reference says.
    assert row.model_copy(update={"length": 140.0, "screws": 2}) == DEFAULTS.fastener.hook_plate[0]


def test_a_sheet_with_rows_of_its_own_reads_back_from_its_table() -> None:
    table = tomllib.loads((SHARED / "campion.toml").read_text("utf-8"))
    table["fastener"] = {
        "hook_plate": [{"name": "mine", "length": "4 3/4 in", "wedge": 7.5}, {"screws": 3}],
        "bolt": [{"length": 4, "metal": "brass"}],
    }
    sheet = check_sheet(table)
    assert [row.length for row in sheet.fastener.hook_plate] == [120.65, 140]
    written = as_table(sheet)
    assert written["fastener"]["bolt"][0]["length"] == "101.6 mm"
    assert check_sheet(json.loads(json.dumps(written))) == sheet
    assert check_sheet({**written, "design": {**written["design"], "unit": "mm"}}).fastener == (
        sheet.fastener
    )
