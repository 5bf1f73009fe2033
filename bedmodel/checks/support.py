"""Two rows on the centre rail, and the panels of a deck on runners and battens."""

from __future__ import annotations

import itertools
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
        Finding(code, parts, value, limit)
        for parts, value in values.items()
        if value < least - BAND
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
    """How much of each panel at a joint lies on the flat of each batten under it."""
    values: Values = {}
    panels = probe.named(lambda name: name.startswith("deck_panel_"))
    battens = probe.named(lambda name: name.startswith("deck_batten_"))
    panels.sort(key=lambda panel: probe.extent(panel, Y)[0])
    for side in dict.fromkeys(_side(panel) for panel in panels):
        row = [panel for panel in panels if _side(panel) == side]
        for ahead, behind in itertools.pairwise(row):
            low, high = (sum(probe.extent(panel, Y)) / 2 for panel in (ahead, behind))
            under = [
                batten
                for batten in battens
                if low < sum(probe.extent(batten, Y)) / 2 < high
                and (not side or _side(batten) in (side, ""))
            ]
            for panel in (ahead, behind):
                if not under:
                    values[(panel.name, "no batten")] = 0.0
                for batten in under:
                    values[(panel.name, batten.name)] = _on_batten(probe, panel, batten)
    return values


def _on_batten(probe: Probe, panel: Piece, batten: Piece) -> float:
    """Along the bed; nothing where the batten's top is not level with the panel's underside."""
    top = probe.main_face(batten, Z)
    if top is None:
        return 0.0
    points = [batten.placement.point(p) for p in top.points]
    if abs(max(p[2] for p in points) - probe.extent(panel, Z)[0]) > TOUCH:
        return 0.0
    start, end = probe.extent(panel, Y)
    ys = [p[1] for p in points]
    return min(max(ys), end) - max(min(ys), start)


def _side(piece: Piece) -> str:
    last = piece.name.rpartition("_")[2]
    return last if last in ("left", "right") else ""
