"""Two rows on the centre rail, and the panels of a deck on runners and battens."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bedmodel.bed import Piece
from bedmodel.checks.faces import SIDES, across
from bedmodel.checks.finding import Code, Finding, Measure, Result
from bedmodel.checks.probe import Probe
from bedmodel.frames import X, Y, Z

BAND = 0.01  # mm
TOUCH = 0.05  # mm; a batten this far below a panel still carries it
ON_BATTEN = 12.0  # mm of each panel on the batten, at least; our own choice

Values = dict[tuple[str, ...], float]


def check_support(probe: Probe) -> Iterator[Result]:
    """Bearing of rows and panels, measured on their solids."""
    sheet = probe.bed.layout.sheet
    yield _result(Code.ROW_BEARING_SHORT, _on_centre_rail(probe), sheet.support.row_bearing)
    yield _result(Code.DECK_BEARING_SHORT, _on_runners(probe), sheet.slat.bearing_least)
    yield _result(Code.DECK_JOINT_UNSUPPORTED, _on_battens(probe), ON_BATTEN)


def _result(code: Code, values: Values, least: float) -> Result:
    measure: Measure = "mm"
    limit = f"at least {least:g} mm"
    findings = tuple(
        Finding(code, parts, value, limit) for parts, value in values.items() if value < least - BAND
    )
    return Result(code, len(values), min(values.values(), default=None), measure, limit, findings)


def eased_strip(probe: Probe, runner: Piece) -> float:
    """Width lost at the inner edge of the runner's top, measured on its faces."""
    top = probe.main_face(runner, Z)
    low, high = probe.box(runner.kind.name)
    if top is None:
        return 0.0
    z = [p[2] for p in top.points]
    return max(min(z) - low[2], high[2] - max(z), 0.0)


def _on_centre_rail(probe: Probe) -> Values:
    """How far each piece of two rows lies over the flat of the centre rail's top."""
    if probe.bed.layout.rows == 1:
        return {}
    rails = probe.named(lambda name: name == "centre_rail")
    top = probe.main_face(rails[0], Z) if rails else None
    values: Values = {}
    for side, sign in SIDES:
        for piece in probe.named(lambda n: n.startswith(("slat_", "deck_panel_"))):
            if not piece.name.endswith(side):
                continue
            if top is None:
                values[(piece.name, "centre_rail")] = 0.0
                continue
            flat = [rails[0].placement.point(p)[0] * sign for p in top.points]
            inner = sorted(v * sign for v in probe.extent(piece, X))[0]
            values[(piece.name, rails[0].name)] = max(flat) - max(inner, min(flat))
    return values


def _on_runners(probe: Probe) -> Values:
    values: Values = {}
    panels = probe.named(lambda name: name.startswith("deck_panel_"))
    for side, sign in SIDES:
        runner = probe.bed.piece(f"runner_{side}")
        inner = probe.plane(runner, (-sign, 0.0, 0.0))
        other = "left" if side == "right" else "right"
        for panel in panels:
            if panel.name.endswith(other):
                continue
            if inner is None:
                values[(panel.name, runner.name)] = 0.0
                continue
            reach = probe.extent(panel, (sign, 0.0, 0.0))[1]
            edges = [sign * across(inner, y) for y in probe.extent(panel, Y)]
            values[(panel.name, runner.name)] = reach - max(edges) - eased_strip(probe, runner)
    return values


def _on_battens(probe: Probe) -> Values:
    """How much of each panel at a joint lies on the flat of the batten under it."""
    values: Values = {}
    panels = probe.named(lambda name: name.startswith("deck_panel_"))
    battens = probe.named(lambda name: name.startswith("deck_batten_"))
    for panel in panels:
        start, end = probe.extent(panel, Y)
        for joint, edge in ((start, 1), (end, 0)):
            if not any(_meets(probe, other, joint, edge) for other in panels):
                continue
            under = [b for b in battens if _side(b) in (_side(panel), "") or not _side(panel)]
            best = ("", 0.0)
            for batten in under:
                top = probe.main_face(batten, Z)
                if top is None:
                    continue
                points = [batten.placement.point(p) for p in top.points]
                if abs(max(p[2] for p in points) - probe.extent(panel, Z)[0]) > TOUCH:
                    continue
                ys = [p[1] for p in points]
                on = min(max(ys), end) - max(min(ys), start)
                if _meets_batten(ys, joint) and on > best[1]:
                    best = (batten.name, on)
            place = (panel.name, best[0]) if best[0] else (panel.name, f"joint at {joint:.0f}")
            values[place] = best[1]
    return values


def _meets(probe: Probe, other: Piece, joint: float, edge: int) -> bool:
    """Whether another panel begins (0) or ends (1) at a joint."""
    return math.isclose(probe.extent(other, Y)[edge], joint, abs_tol=12.0)


def _meets_batten(ys: list[float], joint: float) -> bool:
    return min(ys) <= joint <= max(ys)


def _side(piece: Piece) -> str:
    last = piece.name.rpartition("_")[2]
    return last if last in ("left", "right") else ""
