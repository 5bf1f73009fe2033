"""``bedmodel boards``: which part comes out of which board on the rack."""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.verbs.asked import asked_layout, asked_rack
from bedmodel.verbs.terminal import Progress, sizes, table, wrapped

if TYPE_CHECKING:
    from bedmodel.spec import Sheet
    from bedmodel.stock.nest.plan import NestedPlank
    from bedmodel.stock.plan import ClassPlan, CutBoard
    from bedmodel.stock.sawing import RackPlan


def run(arguments: argparse.Namespace) -> int:
    """Plan the rack, print the plan, write its pages where asked; 1 when parts have no board.

    Raises InputError for a bad sheet, shop or rack, WriteError.
    """
    from bedmodel.pieces import make_pieces
    from bedmodel.sheets import folder_name
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.cut_list import cut_list
    from bedmodel.stock.plan_record import rack_record
    from bedmodel.stock.sawing import plan_for_shop

    layout = asked_layout(arguments)
    shop = load_profile(arguments.shop)
    rack, boards = asked_rack(arguments.rack)
    say = Progress()
    say("planning the boards")
    pieces = make_pieces(layout)
    cuts = cut_list(pieces, shop, layout.sheet.design.unit, layout)
    found = plan_for_shop(boards, cuts, pieces, shop, arguments.by)
    where = None
    if arguments.out is not None:
        from bedmodel.exports.board_files import write_boards, write_labels
        from bedmodel.exports.json_text import json_bytes
        from bedmodel.exports.publish import fresh_folder, write_bytes

        say("writing the pages and labels")
        name = f"{folder_name(layout.sheet)}-boards"
        with fresh_folder(Path(arguments.out), name) as folder:
            write_boards(layout, found, folder)
            write_labels(layout, pieces, cuts, found, folder)
            # By its manifest a later run knows the folder as its own.
            write_bytes(folder / "manifest.json", json_bytes({"name": name, "rack": rack}))
        where = str(Path(arguments.out) / name)
    say.done()
    if arguments.json:
        record = {**rack_record(found), **({"folder": where} if where else {})}
        print(json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(_text(found, layout.sheet, rack))
        print(f"\n{wrapped(_where(where))}")
    return 0 if found.feasible else 1


def _where(folder: str | None) -> str:
    if folder is None:
        return "--out DIR writes a page for each board, and the labels to stick on the parts"
    return f"pages in {folder}: boards.pdf to work from, labels.pdf to stick on the parts"


def _text(found: RackPlan, sheet: Sheet, rack: str) -> str:
    from bedmodel.stock.plan_record import missing_legs, missing_rows

    plan = found.plan
    lines = [f"{sheet.design.title}: boards of {rack}, kerf {sheet.show(plan.kerf)}", ""]
    rows = [_row(each, cut, sheet) for each in plan.classes for cut in each.boards]
    rows += [_plank_row(plank, sheet) for plank in (found.legs.planks if found.legs else ())]
    if rows:
        heads = ["board", "lumber", "size", "bd ft", "cuts", "parts, from the left", "off-cuts"]
        lines += [table(rows, heads, "   rr"), ""]
    lines += _origins(found, sheet)
    what = "bd ft" if plan.objective == "wood" else "cost"
    if plan.used > 0:
        used = f"{what} of the boards used: {plan.used:.2f}"
        gap = "" if math.isinf(plan.gap) else f" (gap {plan.gap:.2%})"
        least = f"proven that no plan of such cuts takes less than {plan.bound:.2f}{gap}"
        lines += [used, *([least] if plan.bound > 0 else [])]
    if found.legs is not None and found.legs.planks:
        lines.append(
            f"bd ft that the legs use up: {found.legs.board_feet_used:.2f}, see bedmodel nest"
        )
    if not found.feasible:
        lines += ["", "THE RACK LACKS LUMBER"]
        missing = missing_rows(found, sheet.show)
        if missing:
            heads = ["lumber", "bd ft rough", "longest without a board", "parts", "proof"]
            lines.append(table(missing, heads, " r"))
        lines += (
            [wrapped(line) for line in missing_legs(found.legs, sheet.show)] if found.legs else []
        )
    return "\n".join(lines)


def _origins(found: RackPlan, sheet: Sheet) -> list[str]:
    """Boards that are not on the rack as they are: ripped down first, or left by the nest."""
    lines = []
    for group in found.plan.classes:
        for cut in group.boards:
            board = cut.board
            if not board.of:
                continue
            if found.is_ripped(board):
                low, high = (sheet.show(v) for v in (board.across, board.across + board.width))
                lines.append(
                    f"{board.name}: rip {board.of} down first, too wide for the saws; {low} to "
                    f"{high} from its lower edge"
                )
            else:
                lines.append(f"{board.name}: what the leg nest leaves of {board.of}")
    return [*lines, ""] if lines else []


def _row(each: ClassPlan, cut: CutBoard, sheet: Sheet) -> list[str]:
    order = sorted(cut.placed, key=lambda p: (p.place.x, p.place.y))
    names: dict[str, int] = {}
    for placed in order:
        names[placed.name] = names.get(placed.name, 0) + 1
    off = ", ".join(sizes(sheet.show, r.length, r.width) for r in cut.offcuts[:3])
    return [
        cut.board.name,
        f"{each.species} {each.quarters_count}/4",
        sizes(sheet.show, cut.board.length, cut.board.width),
        f"{cut.board.board_feet:.2f}",
        str(len(cut.cuts)),
        ", ".join(f"{count} {_spoken(name)}" for name, count in names.items()),
        off,
    ]


def _spoken(name: str) -> str:
    return name.replace("_", " ")


def _plank_row(plank: NestedPlank, sheet: Sheet) -> list[str]:
    board = plank.board
    return [
        board.name,
        f"{board.species or 'any'} {board.quarters_count}/4",
        sizes(sheet.show, board.length, board.width),
        f"{plank.board_feet_used:.2f}",
        "nest",
        ", ".join(_spoken(placement.name) for placement in plank.placements),
        "",
    ]
