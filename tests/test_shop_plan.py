"""The whole rack: legs nested, all else sawn straight, and each piece of wood used once."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedmodel.bed import Piece
from bedmodel.cli import main
from bedmodel.exports.board_files import plan_notes
from bedmodel.exports.cnc import read_rings
from bedmodel.exports.nest_files import plank_dxf, sheet_dxf
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet, shared_folder
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.sheet import BLANK, CUT, OPENING, PLANK
from bedmodel.shop_profile import Nest, ShopProfile, load_profile
from bedmodel.skeleton import lay_out
from bedmodel.stock.boards import Board, Defect
from bedmodel.stock.cut_list import CutList, cut_list, is_traced
from bedmodel.stock.nest.parts import leg_parts
from bedmodel.stock.nest.planks import nest_on_boards
from bedmodel.stock.nest.sheets import SheetPart, nest_on_sheets
from bedmodel.stock.plan_record import missing_legs, missing_rows, rack_record
from bedmodel.stock.rack import read_rack
from bedmodel.stock.sawing import (
    RackPlan,
    left_of,
    nest_on_a_plank,
    nesting_of,
    plan_for_shop,
    sawing_of,
)
from bedmodel.stock.wanted import demands
from tests import nest_checker, plan_checker

# With thinner slats the centre rail's feet are longer, and come two by two out of a plank's rest.
RESTS = ("campion", "us-queen", "slat.thickness=13/16 in")
RACK = shared_folder() / "boards.csv"
SHORT = shared_folder() / "boards-short.csv"


@cache
def bed(
    name: str, size: str = "us-queen", *changes: str
) -> tuple[tuple[Piece, ...], CutList, ShopProfile]:
    pieces = make_pieces(lay_out(load_sheet(name, size=size, changes=changes)))
    shop = load_profile(None)
    return pieces, cut_list(pieces, shop, "inch"), shop


def problems(
    found: RackPlan,
    rack: Sequence[Board],
    pieces: Sequence[Piece],
    cuts: CutList,
    shop: ShopProfile,
) -> list[str]:
    """What both checkers say, and wood that the nest and the plan both use."""
    sawing = sawing_of(shop)
    told = plan_checker.problems(found.plan, rack, demands(cuts, shop), sawing)
    if found.legs is None:
        return told
    told += nest_checker.problems(found.legs, found.parts, rack, nesting_of(shop))
    used = {plank.board.name: (plank.start, plank.stop) for plank in found.legs.planks}
    for group in found.plan.classes:
        for cut in group.boards:
            name = cut.board.of or cut.board.name
            if name in used:
                start, stop = used[name]
                low, high = cut.board.along, cut.board.along + cut.board.length
                if not (high <= start - sawing.kerf + 1e-6 or low >= stop + sawing.kerf - 1e-6):
                    told.append(f"{cut.board.name} is nested on and sawn")
    named = [p.name for g in found.plan.classes for c in g.boards for p in c.placed]
    legs = {part.name for part in found.parts}
    rows = {item.name for item in cuts.items if set(item.pieces) & legs}
    told += [f"{name} is nested and sawn" for name in named if name in rows]
    return told


def test_the_example_rack_gives_the_queen_and_no_wood_is_used_twice() -> None:
    pieces, cuts, shop = bed(*RESTS)
    rack = read_rack(RACK)
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    assert found.feasible
    assert problems(found, rack, pieces, cuts, shop) == []
    assert found.plan.gap < 0.02
    # The feet come out of what the nest leaves.
    rests = [c.board for g in found.plan.classes for c in g.boards if c.board.of]
    assert [(b.of, found.is_ripped(b)) for b in rests] == [("L4", False)]
    record = rack_record(found)
    assert json.loads(json.dumps(record))["legs"]["feasible"]
    assert any("nested on L3, L4" in note for note in plan_notes(found))


def test_the_checks_of_this_file_find_wood_used_twice() -> None:
    pieces, cuts, shop = bed(*RESTS)
    rack = read_rack(RACK)
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    from dataclasses import replace

    legs = found.legs
    assert legs is not None
    swapped = [replace(plank, start=0.0, stop=plank.board.length) for plank in legs.planks]
    told = problems(
        replace(found, legs=replace(legs, planks=tuple(swapped))), rack, pieces, cuts, shop
    )
    assert any("is nested on and sawn" in each for each in told)


def test_square_posts_are_in_the_plan_and_shaped_legs_in_the_nest() -> None:
    for name, traced in (("hawthorn", 0), ("campion", 4), ("sorrel", 4)):
        pieces, cuts, shop = bed(name)
        assert sum(is_traced(piece.kind) for piece in pieces) == traced
        wanted = {d.name for d in demands(cuts, shop)}
        assert ("head_leg" in wanted) == (traced == 0)
        assert {i.name for i in cuts.lumber} == wanted | {i.name for i in cuts.items if i.nested}


def test_a_short_rack_tells_what_is_missing() -> None:
    pieces, cuts, shop = bed("campion")
    rack = read_rack(SHORT)
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    assert not found.feasible
    assert problems(found, rack, pieces, cuts, shop) == []
    rows = {row[0]: row for row in missing_rows(found, lambda mm: f"{mm:.0f}")}
    # There is no 8/4 poplar at all: all of it is wanting, in rough board feet.
    whole = cuts.totals()["yellow-poplar", 8][1]
    assert rows["yellow-poplar 8/4"][1:] == [
        f"{whole:.1f}",
        "centre rail, 2075",
        "1 centre rail, 2 runner",
        "proven",
    ]
    assert rows["red-maple 6/4"][2].startswith("side rail, 20")
    assert "1 head leg right" in rows["red-maple 10/4"][3]
    assert found.legs is not None
    (told,) = missing_legs(found.legs, lambda mm: f"{mm:.0f} mm")
    assert told.startswith("head leg right: the planks are used up; it needs red-maple 10/4")


def test_where_the_nest_takes_too_much_the_straight_parts_go_first() -> None:
    """Only the long plank has room for the feet; the nest alone would take it."""
    pieces, cuts, shop = bed("sorrel")
    base = {"thickness": 50.8, "quarters_count": 10, "species": "yellow-birch"}
    from dataclasses import replace

    cuts = replace(
        cuts,
        items=tuple(
            replace(i, lumber=next(j.lumber for j in cuts.items if j.name == "support_foot"))
            if i.nested
            else i
            for i in cuts.items
        ),
    )
    rack = [
        Board("long", width=135, length=1400, **base),  # type: ignore[arg-type]
        Board("short 1", width=290, length=400, **base),  # type: ignore[arg-type]
        Board("short 2", width=290, length=400, **base),  # type: ignore[arg-type]
    ]
    alone = nest_on_boards(leg_parts(pieces, cuts), rack, nesting_of(shop))
    assert [plank.board.name for plank in alone.planks] == ["long"]
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    lacking = {(g.species, g.quarters_count) for g in found.plan.classes if g.missing}
    assert ("yellow-birch", 10) not in lacking
    assert found.legs is not None
    assert found.legs.feasible
    assert [plank.board.name for plank in found.legs.planks] == ["short 1", "short 2"]
    assert problems(found, rack, pieces, cuts, shop) == []


@settings(max_examples=6, deadline=None)
@given(st.data())
def test_any_rack_is_used_once(data: st.DataObject) -> None:
    pieces, cuts, shop = bed("sorrel", "eu-90x200")
    rack = []
    for number in range(data.draw(st.integers(1, 4))):
        width = data.draw(st.floats(60, 420))
        length = data.draw(st.floats(400, 1500))
        knot = Defect(100, 150, 10, 40) if data.draw(st.booleans()) else None
        quarters = data.draw(st.sampled_from([8, 8, 10]))
        rack.append(
            Board(
                f"B{number}",
                quarters * 6.35,
                quarters,
                width,
                length,
                data.draw(st.floats(0, 40)),
                defects=(knot,) if knot else (),
                species="yellow-birch",
            )
        )
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    assert problems(found, rack, pieces, cuts, shop) == []


def test_what_is_left_of_a_plank_keeps_its_flaws_and_its_price() -> None:
    pieces, cuts, shop = bed("campion")
    rack = read_rack(RACK)
    found = plan_for_shop(rack, cuts, pieces, shop, "wood")
    assert found.legs is not None
    rests = [b for b in left_of(rack, found.legs, sawing_of(shop)) if b.of]
    by_name = {board.name: board for board in rack}
    for rest in rests:
        board = by_name[rest.of]
        assert board.price is not None
        assert rest.price == pytest.approx(board.price * rest.length / board.length)
        ends = (rest.check_left, rest.check_right)
        assert sorted(ends)[0] == 0
        assert max(ends) in (board.check_left, board.check_right)


# --- a plank of a width ----------------------------------------------------------------------


def test_without_a_rack_the_plank_is_what_the_machines_take_or_the_legs_need() -> None:
    pieces, cuts, shop = bed("campion")
    parts = leg_parts(pieces, cuts)
    (plank,) = nest_on_a_plank(parts, shop, None).planks
    assert plank.board.width == pytest.approx(shop.widest_piece)
    narrow = shop.model_copy(update={"machines": shop.machines.model_copy(update={"jointer": 90})})
    (plank,) = nest_on_a_plank(parts, narrow, None).planks
    assert 127 < plank.board.width < 140


def test_a_gap_without_room_for_the_saw_is_told_by_its_name_in_the_file() -> None:
    from bedmodel.errors import InputError

    with pytest.raises(InputError, match=r"nest\.gap = 2 mm: must be at least 7.5 mm"):
        nesting_of(ShopProfile(nest=Nest(gap=2)))


# --- files -----------------------------------------------------------------------------------


def test_the_drawing_of_a_plank_has_the_legs_themselves_at_full_size() -> None:
    pieces, cuts, shop = bed("campion")
    found = plan_for_shop(read_rack(RACK), cuts, pieces, shop, "wood")
    assert found.legs is not None
    outlines = {part.name: part.outline for part in found.parts}
    for plank in found.legs.planks:
        data = plank_dxf(plank, found.parts)
        cut = read_rings(data, CUT)
        assert [ring.area for ring in cut] == pytest.approx(
            [outlines[p.name].area for p in plank.placements]
        )
        blanks = read_rings(data, BLANK)
        for ring, blank in zip(cut, blanks, strict=True):
            assert blank.area == pytest.approx(
                ring.area + ring.perimeter * shop.nest.blank, rel=0.01
            )
        edge = read_rings(data, PLANK)[0].bounds()
        assert edge == pytest.approx((0, 0, plank.board.length, plank.board.width))
        document = ezdxf.read(io.StringIO(data.decode("cp1252")))  # type: ignore[attr-defined]
        assert document.header["$INSUNITS"] == 4
        assert not document.audit().errors


def test_the_drawing_of_a_sheet_has_every_plate_with_its_openings() -> None:
    layout = lay_out(load_sheet("campion", size="us-queen"))
    made = make_jigs(layout, make_pieces(layout))
    jigs = tuple(copy for jig in made if jig.from_sheet for copy in jig.copies())
    assert sum(jig.name.startswith("slat_spacer") for jig in jigs) == 2
    assert not any(jig.name == "caul" for jig in jigs)  # of scrap as thick as the legs
    nest = nest_on_sheets([SheetPart(jig.name, jig.sheet.outline) for jig in jigs])
    cut, openings = [], []
    for sheet in nest.sheets:
        data = sheet_dxf(sheet, nest, jigs)
        cut += read_rings(data, CUT)
        openings += read_rings(data, OPENING)
    assert sum(r.area for r in cut) == pytest.approx(sum(j.sheet.outline.area for j in jigs))
    assert sum(r.area for r in openings) == pytest.approx(
        sum(o.area for j in jigs for o in j.sheet.openings)
    )


# --- verbs -----------------------------------------------------------------------------------


def files(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def test_the_verbs_write_their_files_and_agree(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "out")
    common = ("campion", "--size", "us-queen", "--rack", "boards", "--out", out, "--json")
    assert main(["boards", *common]) == 0
    boards = json.loads(capsys.readouterr().out)
    assert main(["nest", *common]) == 0
    nest = json.loads(capsys.readouterr().out)
    assert nest["legs"] == boards["legs"]
    names = {b["board"] for c in boards["classes"] for b in c["boards"]}
    found = files(Path(boards["folder"]))
    assert found >= {"boards.pdf", "labels.pdf", "boards.json", "manifest.json"}
    assert {n for n in found if n.endswith(".svg")} == {
        f"boards/{name.replace(' ', '_')}.svg" for name in names
    }
    assert files(Path(nest["folder"])) == {
        *("nest.pdf", "nest.json", "manifest.json", "sheet_1_mm.dxf"),
        *("plank_L3_mm.dxf", "plank_L4_mm.dxf"),
    }
    before = {p: p.read_bytes() for p in Path(out).rglob("*") if p.is_file()}
    for verb in ("boards", "nest"):
        assert main([verb, *common]) == 0
    assert {p: p.read_bytes() for p in Path(out).rglob("*") if p.is_file()} == before


def test_a_short_rack_ends_with_1_and_bad_input_with_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["boards", "campion", "--rack", "boards-short"]) == 1
    told = capsys.readouterr().out
    assert "THE RACK LACKS LUMBER" in told
    assert "yellow-poplar 8/4" in told
    assert main(["nest", "campion", "--rack", "boards-short"]) == 1
    assert "THE RACK LACKS PLANKS" in capsys.readouterr().out
    bad = tmp_path / "rack.csv"
    bad.write_text(RACK.read_text("utf-8").replace("7 1/2,10 ft", "-7 1/2,10 ft", 1), "utf-8")
    out = tmp_path / "out"
    for verb in ("boards", "nest"):
        assert main([verb, "campion", "--rack", str(bad), "--out", str(out)]) == 2
        assert "rack.csv line 5, column width = -7 1/2" in capsys.readouterr().err
    assert not out.exists()
    assert main(["nest", "campion", "--width", "2 in"]) == 2
    assert "--width = 2 in: must be 5 3/8 in to" in capsys.readouterr().err


def test_a_file_that_is_not_ours_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = tmp_path / "hawthorn-eu-160x200-nest"
    there.mkdir()
    (there / "mine.txt").write_text("mine", "utf-8")
    assert main(["nest", "hawthorn", "--out", str(tmp_path)]) == 3
    assert "did not make" in capsys.readouterr().err
    assert files(tmp_path) == {"hawthorn-eu-160x200-nest/mine.txt"}
