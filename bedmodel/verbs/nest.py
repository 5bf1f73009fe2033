"""``bedmodel nest``: legs laid out on thick planks, templates and jig plates on sheet goods."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bedmodel.errors import InputError
from bedmodel.units import MM_PER_INCH
from bedmodel.verbs.asked import asked_layout, asked_rack
from bedmodel.verbs.terminal import Progress, sizes, table, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedmodel.bed import Piece
    from bedmodel.exports.nest_files import Nests
    from bedmodel.shop.jigs.jig import Jig
    from bedmodel.shop_profile import ShopProfile
    from bedmodel.skeleton import Layout
    from bedmodel.spec import Sheet
    from bedmodel.stock.nest.plan import LegNest, NestPart
    from bedmodel.stock.nest.sheets import SheetNest

_CAUTION = (
    "Measure your planks first, and check a drawing's size before you trace or cut by it; "
    "saw outside the line."
)


def run(arguments: argparse.Namespace) -> int:
    """Nest and print the nests, write them where asked; 1 when a leg has no plank.

    Raises InputError for a bad sheet, shop, rack or width, WriteError.
    """
    from bedmodel.exports.nest_files import Nests
    from bedmodel.pieces import make_pieces
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.supplies import deck_nest

    layout = asked_layout(arguments)
    shop = load_profile(arguments.shop)
    pieces = make_pieces(layout)
    say = Progress()
    say("nesting the legs")
    legs, parts = _legs(arguments, layout, pieces, shop)
    say("nesting templates and plates")
    plates, jigs, left_over = _plates(layout, pieces, shop, arguments.shop is not None)
    nests = Nests(legs, parts, plates, jigs)
    deck = deck_nest(layout, shop)
    where = None
    if arguments.out is not None:
        say("writing the nests")
        where = _write(arguments, layout, pieces, nests, deck)
    say.done()
    if arguments.json:
        print(json.dumps(_record(nests, left_over, where, deck), indent=1, allow_nan=False))
    else:
        print(_text(nests, left_over, pieces, layout.sheet, arguments.rack))
        print("\n".join(_deck_lines(deck, layout)), end="")
        print(f"\n{wrapped(_where(where))}\n{wrapped(_CAUTION)}")
    return 0 if legs is None or legs.feasible else 1


# --- legs ----------------------------------------------------------------------------------


def _legs(
    arguments: argparse.Namespace, layout: Layout, pieces: Sequence[Piece], shop: ShopProfile
) -> tuple[LegNest | None, tuple[NestPart, ...]]:
    """The legs' nest: on the rack, beside the board plan's parts, or on one plank."""
    from bedmodel.stock.cut_list import cut_list
    from bedmodel.stock.nest.parts import leg_parts
    from bedmodel.stock.sawing import needed_width, nest_on_a_plank, plan_for_shop

    unit = layout.sheet.design.unit
    cuts = cut_list(pieces, shop, unit, layout)
    parts = leg_parts(pieces, cuts)
    if arguments.rack is not None:
        # The same plan as that of the boards, so that no plank is used twice.
        _, boards = asked_rack(arguments.rack)
        return plan_for_shop(boards, cuts, pieces, shop, "wood").legs, parts
    width = None
    if arguments.width is not None:
        width = _width(arguments.width, layout.sheet, needed_width(parts, shop))
    return (nest_on_a_plank(parts, shop, width) if parts else None), parts


def _width(text: str, sheet: Sheet, least: float) -> float:
    from bedmodel.stock.nest.planks import WIDEST
    from bedmodel.units import format_length, parse_length

    try:
        width = parse_length(text, sheet.design.unit)
    except ValueError as e:
        raise InputError("--width", text, str(e), 'such as "9 1/4 in"') from None
    if not least <= width <= WIDEST:
        # Rounded up, so that what is asked for does.
        step = MM_PER_INCH / 16 if sheet.design.unit == "inch" else 1.0
        least = math.ceil(least / step) * step
        low, high = (format_length(each, sheet.design.unit) for each in (least, WIDEST))
        raise InputError("--width", text, f"must be {low} to {high} for these legs")
    return width


# --- plates --------------------------------------------------------------------------------


def _plates(
    layout: Layout, pieces: Sequence[Piece], shop: ShopProfile, own: bool
) -> tuple[SheetNest | None, tuple[Jig, ...], tuple[Jig, ...]]:
    """The jigs' nest on sheets, the jigs, and those that are too large for a sheet."""
    from bedmodel.shop.jigs.bed_jigs import make_jigs
    from bedmodel.stock.nest.sheets import SheetPart, SheetSize, nest_on_sheets

    goods = shop.sheet_goods
    size = SheetSize(goods.length, goods.width, goods.gap, goods.margin)
    fits: list[Jig] = []
    left_over: list[Jig] = []
    made = make_jigs(layout, pieces, shop if own else None)
    for jig in (copy for each in made if each.from_sheet for copy in each.copies()):
        x0, y0, x1, y1 = jig.sheet.outline.bounds()
        short, long = sorted((x1 - x0, y1 - y0))
        room = sorted((size.width - 2 * size.margin, size.length - 2 * size.margin))
        (fits if short <= room[0] and long <= room[1] else left_over).append(jig)
    parts = [SheetPart(jig.name, jig.sheet.outline) for jig in fits]
    return (nest_on_sheets(parts, size) if parts else None), tuple(fits), tuple(left_over)


# --- what is told ----------------------------------------------------------------------------


def _write(
    arguments: argparse.Namespace,
    layout: Layout,
    pieces: Sequence[Piece],
    nests: Nests,
    deck: SheetNest | None,
) -> str:
    from bedmodel.exports.board_files import setup_of
    from bedmodel.exports.json_text import json_bytes
    from bedmodel.exports.nest_files import write_nests
    from bedmodel.exports.publish import fresh_folder, write_bytes
    from bedmodel.sheets import folder_name

    name = f"{folder_name(layout.sheet)}-nest"
    with fresh_folder(Path(arguments.out), name) as folder:
        write_nests(nests, pieces, setup_of(layout.sheet), folder)
        write_bytes(folder / "nest.json", json_bytes(_record(nests, (), None, deck)))
        # By its manifest a later run knows the folder as its own.
        write_bytes(folder / "manifest.json", json_bytes({"name": name}))
    return str(Path(arguments.out) / name)


def _record(
    nests: Nests, left_over: Sequence[Jig], where: str | None, deck: SheetNest | None
) -> dict[str, Any]:
    from bedmodel.stock.nest.record import legs_record, sheets_record

    return {
        "legs": None if nests.legs is None else legs_record(nests.legs),
        "plates": None if nests.plates is None else sheets_record(nests.plates),
        **({} if deck is None else {"deck": sheets_record(deck)}),
        "too_large_for_a_sheet": [jig.name for jig in left_over],
        **({"folder": where} if where else {}),
    }


def _where(folder: str | None) -> str:
    if folder is None:
        return "--out DIR writes pages to trace from, and 1:1 DXF of each plank and sheet"
    return f"written to {folder}: nest.pdf, and a DXF in mm for each plank and sheet"


def _text(
    nests: Nests,
    left_over: Sequence[Jig],
    pieces: Sequence[Piece],
    sheet: Sheet,
    rack: str | None,
) -> str:
    of = f"boards of {Path(rack).name}" if rack else "one plank, as long as it takes"
    lines = [f"{sheet.design.title}: legs on {of}", ""]
    lines += _leg_lines(nests, pieces, sheet)
    if nests.plates is not None:
        lines += ["", *_plate_lines(nests, sheet)]
    for jig in left_over:
        lines.append(f"{jig.name}: too large for a sheet, make it of solid wood or of two pieces")
    return "\n".join(lines)


def _deck_lines(deck: SheetNest | None, layout: Layout) -> list[str]:
    """Where each panel of a deck lies on its sheet of plywood."""
    if deck is None or layout.deck is None:
        return []
    sheet = layout.sheet
    size = sizes(sheet.show, deck.size.length, deck.size.width)
    sides = {f"deck_panel_{p.number}": p for p in layout.deck.panels}
    rows = []
    for number, each in enumerate(deck.sheets, start=1):
        for at in each.placements:
            panel = sides[at.name.removesuffix("_left").removesuffix("_right")]
            # A part lies by its outline's first corner, or by the far one when it is turned.
            x, y = (
                (at.x, at.y) if abs(at.turn_deg) < 90 else (at.x - panel.length, at.y - panel.width)
            )
            of = sizes(sheet.show, panel.length, panel.width)
            rows.append([str(number), at.name, of, sheet.show(x), sheet.show(y)])
    return [
        "",
        f"deck of {layout.deck.plywood.label} {sheet.show(layout.deck.thickness)} on "
        f"{len(deck.sheets)} sheets of {size}, face grain along them",
        "",
        table(rows, ["sheet", "panel", "size", "along", "up"], "r  rr"),
        "",
    ]


def _leg_lines(nests: Nests, pieces: Sequence[Piece], sheet: Sheet) -> list[str]:
    from bedmodel.exports.plan_pages.nested import joint_ends, seen_face
    from bedmodel.shop.jigs.legs import face_up
    from bedmodel.stock.cut_list import LEGS

    if nests.legs is None:
        return ["square posts, sawn straight: the board plan has them, see bedmodel boards"]
    outlines = {part.name: part.outline for part in nests.parts}
    faces = {piece.name: face_up(piece) for piece in pieces if piece.name.startswith(LEGS)}
    rows = []
    for plank in nests.legs.planks:
        for placement in plank.placements:
            turn = placement.turn_deg
            tilt = turn if abs(turn) <= 90 else turn - 180 if turn > 0 else turn + 180
            ends = sorted(joint_ends(placement.outline(outlines[placement.name])))
            rows.append(
                [
                    plank.board.name,
                    placement.name.replace("_", " "),
                    seen_face(faces, placement),
                    "left" if abs(turn) <= 90 else "right",
                    *(_place(sheet, x, y) for x, y in ends),
                    f"{tilt:+.1f}" if abs(tilt) >= 0.05 else "0",
                ]
            )
    lines = []
    if rows:
        heads = ["plank", "leg", "face up", "foot", "joint face from", "to", "tilt"]
        lines += [table(rows, heads, "      r"), ""]
    for plank in nests.legs.planks:
        board = plank.board
        end = "left" if plank.start == 0 else "right"
        lines.append(
            f"{board.name}, {board.quarters_count}/4, {sheet.show(board.width)} wide: uses "
            f"{sheet.show(plank.length_used)} from the {end} end, "
            f"{plank.board_feet_used:.2f} bd ft"
        )
    if rows:
        lines.append(
            wrapped(
                "places: along from the plank's left end, up from its lower edge; tilt: degrees "
                "out of the grain, + where the right end lies higher"
            )
        )
    return [*lines, *_unplaced(nests.legs, sheet)]


def _place(sheet: Sheet, x: float, y: float) -> str:
    """A point of the plank, to what can be marked: along, up."""
    step = MM_PER_INCH / 32 if sheet.design.unit == "inch" else 0.5
    return sizes(sheet.show, *(round(v / step) * step for v in (x, y))).replace(" x ", ", ")


def _unplaced(legs: LegNest, sheet: Sheet) -> list[str]:
    from bedmodel.stock.plan_record import missing_legs

    missing = missing_legs(legs, sheet.show)
    return ["", "THE RACK LACKS PLANKS", *map(wrapped, missing)] if missing else []


def _plate_lines(nests: Nests, sheet: Sheet) -> list[str]:
    plates = nests.plates
    assert plates is not None
    many = len(plates.sheets)
    size = sizes(sheet.show, plates.size.length, plates.size.width)
    proof = ", fewer cannot hold them" if plates.is_proven else ""
    outlines = {jig.name: jig.sheet.outline for jig in nests.jigs}
    rows = []
    for number, each in enumerate(plates.sheets, start=1):
        for placement in each.placements:
            x0, y0, x1, y1 = placement.outline(outlines[placement.name]).bounds()
            size_there = sizes(sheet.show, x1 - x0, y1 - y0)
            rows.append([str(number), placement.name, size_there, sheet.show(x0), sheet.show(y0)])
    used = ", ".join(sheet.show(each.stop) for each in plates.sheets)
    return [
        wrapped(
            f"templates and jig plates on {many} sheet{'s' if many > 1 else ''} of {size}{proof}"
        ),
        "",
        table(rows, ["sheet", "plate", "size as it lies", "along", "up"], "r  rr"),
        "",
        f"used along the sheet{'s' if many > 1 else ''}: {used}",
    ]
