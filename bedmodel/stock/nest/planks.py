"""Nest curved parts on planks: on those of the rack, or on one of a given width.

First many nests are laid down part by part (``place``), then the shortest are pushed
together with the tilts that the grain allows (``squeeze``), and on request a bound is
proven (``proof``). The same input gives the same nest; the effort is counted in nests and
nodes, not in seconds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bedmodel.errors import InputError
from bedmodel.stock.boards import Board, board_feet
from bedmodel.stock.nest.blanks import rough_blank
from bedmodel.stock.nest.forms import (
    Form,
    Room,
    Spot,
    Way,
    form_of,
    forms_of,
    tilt_of_least_width,
    width_at,
)
from bedmodel.stock.nest.nofit import NoFit
from bedmodel.stock.nest.place import Laid, lay_down, lay_down_all
from bedmodel.stock.nest.plan import (
    LegNest,
    NestedPlank,
    Nesting,
    NestPart,
    Placement,
    Unplaced,
    check_parts,
)
from bedmodel.stock.nest.polygons import Polygon, box, outer_polygon, turned
from bedmodel.stock.nest.proof import prove
from bedmodel.stock.nest.squeeze import Limits, squeeze

TOLERANCE = 0.25  # mm; polygons stand off true arcs by this at most
COARSE = 0.8  # mm; while parts are laid down
_FINISHED = 2  # of the nests pushed together, once more with the finer polygons
_ROUND_OFF = 1e-6
WIDEST = 1500.0
Counts = tuple[int, ...]
_USUAL = Nesting()


@dataclass(frozen=True)
class Effort:
    """How much is tried: nests kept of each set of parts, nests pushed together, planks of the
    rack looked at, and nodes of each proof (0 for none).
    """

    beam_count: int = 60
    squeezed_count: int = 6
    look_count: int = 4
    boards_count: int = 24
    nodes_count: int = 0


QUICK = Effort()
PROVEN = Effort(nodes_count=2000)


def effort_for(count: int) -> Effort:
    """What keeps a nest of so many parts to a few seconds: four legs, or their layers."""
    for most, effort in ((5, QUICK), (8, Effort(20, 3)), (12, Effort(8, 2))):
        if count <= most:
            return effort
    return Effort(3, 1)


@dataclass(frozen=True)
class _Kind:
    """Parts of one outline: they are nested as one, and named afterwards."""

    polygon: Polygon
    parts: tuple[NestPart, ...]
    forms: tuple[Form, ...]
    tilted: tuple[Form, ...] = ()

    def turned_about(self) -> _Kind:
        """The same for a plank turned half round: what was end for end then is not."""
        return replace(self, forms=_about(self.forms), tilted=_about(self.tilted))

    def fine(self, spot: Spot) -> Spot:
        """The same spot with the finer polygon."""
        form = form_of(spot.form.kind, self.polygon, spot.form.way)
        (cx, cy), (fx, fy) = spot.form.shift, form.shift
        return replace(spot, form=form, x=spot.x + cx - fx, y=spot.y + cy - fy)


def _about(forms: Sequence[Form]) -> tuple[Form, ...]:
    return tuple(
        form_of(form.kind, form.base, replace(form.way, turn_deg=form.way.turn_deg + 180.0))
        for form in forms
    )


def nest_on_width(
    parts: Sequence[NestPart],
    width: float,
    nesting: Nesting = _USUAL,
    effort: Effort = QUICK,
    quarters_count: int = 0,
) -> NestedPlank:
    """Nest all parts on one sound plank of a width; its length is worked out.

    Raises InputError, with the least width that would do, where a part is too wide for it.
    """
    parts = check_parts(parts)
    if not (math.isfinite(width) and 20 <= width <= WIDEST):
        raise InputError("plank width", width, f"must be 20 to {WIDEST:g} mm")
    quarters_count = quarters_count or max(part.quarters_count for part in parts)
    kinds = _kinds(parts, nesting, width - 2 * nesting.margin)
    for kind in kinds:
        if not kind.forms:
            short = _unplaced(kind.parts[0], nesting, True)
            raise InputError("plank width", f"{width:g} mm", "is too narrow", short.told)
    longest = 2 * nesting.margin + sum(
        2 * f.reach + nesting.gap for k in kinds for f in k.forms[:1] for _ in k.parts
    )
    thickness = quarters_count * 6.35
    board = Board("plank", thickness, quarters_count, width, longest)
    counts = tuple(len(kind.parts) for kind in kinds)
    nested = _nest(board, kinds, counts, nesting, effort, NoFit(nesting.gap))
    assert nested is not None, "a plank as long as all parts in a row has room for them"
    return replace(nested[0], board=replace(board, length=nested[0].length_used))


def least_width(part: NestPart, nesting: Nesting = _USUAL) -> float:
    """The narrowest plank that takes a part, tilted as far as the grain allows (mm)."""
    return _unplaced(part, nesting, True).width


def nest_on_boards(
    parts: Sequence[NestPart],
    boards: Sequence[Board],
    nesting: Nesting = _USUAL,
    effort: Effort = QUICK,
) -> LegNest:
    """Nest all parts on the planks of the rack so that the least wood is used up.

    A plank serves parts of its class and species; what is left of it is an off-cut. What
    finds no plank stands in ``unplaced``.
    """
    parts = check_parts(parts)
    groups: dict[tuple[str, int], list[NestPart]] = {}
    for part in parts:
        groups.setdefault((part.species, part.quarters_count), []).append(part)
    free = list(boards)
    planks: list[NestedPlank] = []
    unplaced: list[Unplaced] = []
    for (species, quarters_count), group in sorted(groups.items(), key=lambda each: each[0]):
        fit = [
            board
            for board in free
            if quarters_count in (0, board.quarters_count)
            and (not species or board.species in ("", species))
        ]
        done, short = _nest_group(group, fit, nesting, effort)
        taken = {plank.board.name for plank in done}
        free = [board for board in free if board.name not in taken]
        planks += done
        unplaced += short
    order = {board.name: at for at, board in enumerate(boards)}
    planks.sort(key=lambda plank: order[plank.board.name])
    return LegNest(tuple(planks), tuple(unplaced))


# --- which plank for which parts -----------------------------------------------------------


def _nest_group(
    parts: Sequence[NestPart], boards: Sequence[Board], nesting: Nesting, effort: Effort
) -> tuple[list[NestedPlank], list[Unplaced]]:
    widest = max((board.width for board in boards), default=0.0)
    kinds = _kinds(parts, nesting, widest - 2 * nesting.margin)
    counts = tuple(len(kind.parts) for kind in kinds)
    nofit = NoFit(nesting.gap)
    tables: list[tuple[Board, Mapping[Counts, float]]] = []
    for board in sorted(boards, key=lambda b: b.width * b.length):
        if len(tables) < effort.boards_count:
            table = _costs(board, kinds, counts, nesting, effort, nofit)
            if table:
                tables.append((board, table))
    areas = [kind.parts[0].outline.area for kind in kinds]
    chosen, left = _choose(tables, counts, areas)
    done: list[NestedPlank] = []
    waiting = [list(kind.parts) for kind in kinds]
    for board, wanted in chosen:
        mine = [replace(kind, parts=tuple(waiting[i][: wanted[i]])) for i, kind in enumerate(kinds)]
        for i, count in enumerate(wanted):
            del waiting[i][:count]
        nested = _nest(board, mine, wanted, nesting, effort, nofit)
        assert nested is not None, "it was laid down once with less effort"
        done += nested
    fits = [any(table.get(_one(i, counts)) for _, table in tables) for i in range(len(kinds))]
    short = [
        _unplaced(part, nesting, not fits[i])
        for i, kind in enumerate(kinds)
        for part in kind.parts[counts[i] - left[i] :]
    ]
    return done, short


def _one(kind: int, counts: Counts) -> Counts:
    return tuple(int(i == kind) for i in range(len(counts)))


def _costs(
    board: Board,
    kinds: Sequence[_Kind],
    counts: Counts,
    nesting: Nesting,
    effort: Effort,
    nofit: NoFit,
) -> dict[Counts, float]:
    """What each set of parts would use up of a plank, at a quick look (board feet)."""
    found: dict[Counts, float] = {}
    for from_right, room in enumerate(_rooms(board, nesting)):
        forms = [(kind.turned_about() if from_right else kind).forms for kind in kinds]
        for laid in lay_down_all(forms, counts, room, nofit, effort.look_count):
            taken = tuple(n - left for n, left in zip(counts, laid.left, strict=True))
            cost = board_feet(board.quarters_count, board.width, laid.stop + nesting.margin)
            found[taken] = min(cost, found.get(taken, math.inf))
    return found


def _choose(
    tables: Sequence[tuple[Board, Mapping[Counts, float]]],
    counts: Counts,
    areas: Sequence[float],
) -> tuple[list[tuple[Board, Counts]], Counts]:
    """Which planks take which parts: as many as possible, then the least wood."""
    # Board by board: for each set of parts that still waits the cheapest way to get there.
    best: dict[Counts, tuple[float, tuple[tuple[int, Counts], ...]]] = {counts: (0.0, ())}
    for at, (_, table) in enumerate(tables):
        for left, (cost, picks) in sorted(best.items()):
            for taken, more in sorted(table.items()):
                rest = tuple(n - t for n, t in zip(left, taken, strict=True))
                if min(rest) >= 0 and cost + more < best.get(rest, (math.inf, ()))[0] - 1e-9:
                    best[rest] = (cost + more, (*picks, (at, taken)))

    def rank(left: Counts) -> tuple[float, float, Counts]:
        short = sum(n * area for n, area in zip(left, areas, strict=True))
        return (short, best[left][0], left)

    left = min(best, key=rank)
    return [(tables[at][0], taken) for at, taken in best[left][1]], left


# --- one plank -----------------------------------------------------------------------------


def _kinds(parts: Sequence[NestPart], nesting: Nesting, width: float) -> list[_Kind]:
    """Parts of equal outlines together; without forms when too wide for the width."""
    turns = (0.0, 180.0) if nesting.end_for_end else (0.0,)
    overs = (False, True) if nesting.turn_over else (False,)
    groups: dict[object, list[NestPart]] = {}
    for part in parts:
        groups.setdefault(part.outline.canonical(), []).append(part)
    kinds = []
    for number, group in enumerate(groups.values()):
        coarse = outer_polygon(group[0].outline, COARSE)
        # Straight, or where that is too wide tilted just as far as makes it narrowest.
        tilt = 0.0
        if width_at(coarse, 0.0) > width + _ROUND_OFF:
            tilt = tilt_of_least_width(coarse, nesting.grain_deg)
        tilts = [tilt] if width_at(coarse, tilt) <= width + _ROUND_OFF else []
        more = [-nesting.grain_deg, tilt, nesting.grain_deg] if tilts and nesting.grain_deg else []
        straight, tilted = (
            forms_of(
                number,
                coarse,
                [
                    Way(over, turn - t if over else turn + t)
                    for over in overs
                    for turn in turns
                    for t in each
                ],
            )
            for each in (tilts, more)
        )
        fine = outer_polygon(group[0].outline, TOLERANCE)
        kinds.append(_Kind(fine, tuple(group), straight, tilted))
    return kinds


def _rooms(board: Board, nesting: Nesting) -> list[Room]:
    """The room of a plank, and where that differs the room of the plank turned half round."""
    m = nesting.margin
    obstacles = tuple(
        (d.start - m, d.low - m, d.stop + m, d.high + m)
        for d in board.defects
        if d.stop + m > board.check_left and d.start - m < board.length - board.check_right
    )
    left = Room(
        board.check_left + m,
        m,
        board.length - board.check_right - m,
        board.width - m,
        obstacles,
    )
    right = Room(
        board.check_right + m,
        m,
        board.length - board.check_left - m,
        board.width - m,
        tuple(
            (board.length - x1, board.width - y1, board.length - x0, board.width - y0)
            for x0, y0, x1, y1 in obstacles
        ),
    )
    return [left] if left == right else [left, right]


def _nest(
    board: Board,
    kinds: Sequence[_Kind],
    counts: Counts,
    nesting: Nesting,
    effort: Effort,
    nofit: NoFit,
) -> list[NestedPlank] | None:
    """The best nest of all parts on a plank; None when none was found."""
    limits = Limits(nesting.gap, nesting.grain_deg)
    best: tuple[float, bool, tuple[Spot, ...]] | None = None
    for from_right, room in enumerate(_rooms(board, nesting)):
        starts: list[Laid] = []
        seen = [kind.turned_about() if from_right else kind for kind in kinds]
        for forms in ([kind.forms for kind in seen], [kind.tilted for kind in seen]):
            laid = lay_down(forms, counts, room, nofit, effort.beam_count)
            # More nests are not always better ones: what the quick look found is there still.
            laid = laid or lay_down(forms, counts, room, nofit, effort.look_count)
            starts += _unlike(laid)[: effort.squeezed_count]
        for nest in starts:
            if best is None or nest.stop < best[0] - _ROUND_OFF:
                best = (nest.stop, bool(from_right), nest.spots)
        rough = [done for nest in starts if (done := squeeze(nest.spots, room, limits))]
        rough.sort(key=lambda done: done[1])
        for spots, _ in rough[:_FINISHED]:
            done = squeeze([kinds[spot.form.kind].fine(spot) for spot in spots], room, limits)
            if done is not None and (best is None or done[1] < best[0] - _ROUND_OFF):
                best = (done[1], bool(from_right), done[0])
    if best is None:
        return None
    stop, from_right, spots = best
    plank = _plank(board, kinds, spots, stop + nesting.margin, from_right, nesting)
    if effort.nodes_count:
        check = board.check_right if from_right else board.check_left
        lists = [[kind.parts[0].outline] * n for kind, n in zip(kinds, counts, strict=True) if n]
        proofs = prove(
            [outline for each in lists for outline in each],
            board.width,
            nesting,
            plank.length_used - check,
            effort.nodes_count,
        )
        plank = replace(plank, proofs=tuple(replace(p, length=p.length + check) for p in proofs))
    return [plank]


def _unlike(nests: Sequence[Laid]) -> list[Laid]:
    """One nest of each length, to a tenth: the others mostly are its mirror images."""
    found: dict[float, Laid] = {}
    for nest in nests:
        found.setdefault(round(nest.stop, 1), nest)
    return list(found.values())


def _plank(
    board: Board,
    kinds: Sequence[_Kind],
    spots: Sequence[Spot],
    stop: float,
    from_right: bool,
    nesting: Nesting,
) -> NestedPlank:
    waiting = [list(kind.parts) for kind in kinds]
    placed = []
    for spot in sorted(spots, key=lambda s: (s.x, s.y)):
        part = waiting[spot.form.kind].pop(0)
        placement = _placement(part.name, spot)
        if from_right:
            placement = Placement(
                part.name,
                placement.mirrored,
                _upright(180.0 + placement.turn_deg),
                board.length - placement.x,
                board.width - placement.y,
            )
        placed.append((placement, rough_blank(placement.outline(part.outline), nesting.blank)))
    span = (board.length - stop, board.length) if from_right else (0.0, stop)
    return NestedPlank(
        board, tuple(p for p, _ in placed), tuple(blank for _, blank in placed), *span
    )


def _placement(name: str, spot: Spot) -> Placement:
    ((dx, dy),) = turned((spot.form.shift,), spot.tilt_deg)
    way = spot.form.way
    return Placement(
        name, way.mirrored, _upright(way.turn_deg + spot.tilt_deg), spot.x + dx, spot.y + dy
    )


def _upright(turn_deg: float) -> float:
    """The same turn, above -180 and up to 180 degrees."""
    turn = math.remainder(turn_deg, 360.0)
    return turn + 360.0 if turn <= -180.0 else turn


def _unplaced(part: NestPart, nesting: Nesting, fits_none: bool) -> Unplaced:
    polygon = outer_polygon(part.outline, TOLERANCE)
    tilt = tilt_of_least_width(polygon, nesting.grain_deg)
    x0, y0, x1, y1 = box(form_of(0, polygon, Way(False, tilt)).polygon)
    return Unplaced(
        part.name,
        part.quarters_count,
        part.species,
        y1 - y0 + 2 * nesting.margin,
        x1 - x0 + 2 * nesting.margin,
        fits_none,
    )
