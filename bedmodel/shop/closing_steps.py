"""The last steps: dry fit, glue-up, finish, and the bed put together where it will stand."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.shop.cautions import DUST, GLUE, HEAVY, SCREWS
from bedmodel.shop.end_steps import gluing
from bedmodel.shop.raked import RAKED_GLUE_UP, raked_clamps, raked_hanging
from bedmodel.shop.steps import Step, Work
from bedmodel.shop.support_steps import lay_support

_FASTENER_WORDS = ("plate", "bracket", "bolt", "washer", "barrel_nut", "alignment_dowel")


def glue_up(work: Work) -> Iterator[Step]:
    """Sand, fit dry, then glue each end."""
    yield Step(
        "Sand, then fit all without glue",
        "bench",
        tuple(item.name for item in work.cuts.items),
        (
            "put each end together dry, rails hung, and measure the diagonals",
            "mend now what does not close; each joint has its number on the labels of its parts",
            "sand with the grain; wet end grain and faces once, and sand again when dry",
        ),
        settings=("grits 120, 150, 180, each until the scratches of the one before are gone",),
        cautions=(DUST,),
    )
    splayed = work.layout.legs.splay != 0
    jigs = ("clamping cauls",) if splayed else ()
    for end in work.layout.ends:
        dry = [board for board in end.boards if max(board.tenons.slack, default=0.0) > 0]
        does = ["boards into one leg, then the other leg on; clamp at each board, check for square"]
        if end.fills:  # the legs come after rails and what is between them
            does = ["clamp at each rail, check for square"]
        does = [*gluing(end), *does] if end.fills else [*does, *gluing(end)]
        if splayed:
            does.insert(
                0,
                "tape a caul to each leg's outer edge at the middle of each board, thick end up",
            )
        middles = [work.both((board.bottom + board.top) / 2) for board in end.boards]
        clamps = f"a clamp across each board, {' and '.join(middles)} above the floor"
        if end.lean.rake:
            clamps = raked_clamps(work, end)
            does.append(RAKED_GLUE_UP)
        if dry:
            does.insert(
                0,
                "wide boards: glue only the tenon nearest the middle in the legs, the others stay "
                "dry there so that the board can move",
            )
        yield Step(
            f"Glue up the {end.end} end",
            "bench",
            work.named(lambda name, e=end.end: name.startswith(e) or "tenon" in name),  # type: ignore[misc]
            tuple(does),
            settings=(clamps,),
            jigs=jigs,
            cautions=(GLUE, HEAVY),
            pieces=work.hung(lambda name, e=end.end: _of_end(name, e)),  # type: ignore[misc]
        )


def _of_end(name: str, end: str) -> bool:
    return name.startswith(end) and not _is_fastener(name)


def _is_fastener(name: str) -> bool:
    return any(word in name for word in _FASTENER_WORDS)


def hang(work: Work) -> Iterator[Step]:
    """Finish, and set the bed up where it will stand."""
    yield Step(
        "Finish",
        "bench",
        tuple(item.name for item in work.cuts.items),
        (
            "finish all faces alike, inside ones too, so that the wood takes moisture evenly",
            "mask glue faces, tenons and mortises that are not glued yet",
            "screw the metal on for good when it is dry",
        ),
        settings=("two thin coats or more, as the maker of the finish says; rub down between",),
        cautions=(DUST, "rags with oil can catch fire by themselves: lay them out flat to dry"),
    )
    fastener = work.layout.fastener
    words = {
        "hook_plates": "lower the hooks into their slots at both ends and press the rail down",
        "brackets": "lower the hooks into their slots at both ends and press the rail down",
        "bolts": "set the rail on its dowels, turn the bolts into the barrels, tighten evenly",
    }
    yield Step(
        "Hang the rails",
        "bedroom",
        work.named(lambda name: name in ("side_rail", "runner")),
        (
            "two people: stand head and foot end up, never let one go before both rails hang",
            words[fastener.kind] if fastener else "join the rails to the legs as you planned",
            *raked_hanging(work.layout),
            "check that both rails are level and the diagonals equal",
        ),
        settings=(
            (f"fasteners' middle {work.both(fastener.height)} above the floor",) if fastener else ()
        ),
        cautions=(HEAVY,),
        pieces=work.hung(
            lambda name: name.startswith(("side_rail", "runner")) or _is_fastener(name)
        ),
    )
    if work.layout.centre_rail is not None:
        yield Step(
            "Set the centre rail",
            "bedroom",
            work.named(lambda name: name in ("centre_rail", "support_foot") or "cleat" in name),
            (
                "lower it on its cleats, its top level with the runners' tops"
                if not work.layout.centre_rail.feet
                else "feet under it at their marks, its top level with the runners' tops",
            ),
            settings=(f"top {work.both(work.layout.centre_rail.top)} above the floor",),
            jigs=("story sticks",),
            cautions=(HEAVY, SCREWS),
            pieces=work.hung(
                lambda name: name.startswith(("centre_rail", "support_foot")) or "cleat" in name
            ),
        )
    yield from lay_support(work)
    yield Step(
        "Lay the mattress, look again after a season",
        "bedroom",
        (),
        (
            "sit on each side and at the foot, listen and look at every joint",
            "after the first heating season press the rails down again and tighten what is loose",
        ),
        cautions=("an adult low bed; a design aid made it, not a certificate",),
    )
