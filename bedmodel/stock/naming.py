"""Give the places of a plan to the parts and panels that were asked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bedmodel.stock.choose import Row, solve
from bedmodel.stock.cuts import Spot
from bedmodel.stock.demand import Demand
from bedmodel.stock.grid import WoodClass, steps_up
from bedmodel.stock.plan import Placed, Rectangle

_NODES = 500
_NOWHERE = Rectangle(0.0, 0.0, 0.0, 0.0)  # until it is cut

Room = Sequence[tuple[int, Spot]]  # board of the plan, place on it
Named = list[tuple[int, Spot, Placed]]
Short = list[tuple[int, Demand, int]]  # kind, what for, how many parts or panels


def name_spots(wood: WoodClass, room: Room) -> tuple[Named, Short]:
    """Give the places their names, leaving out what is over; and what has no place."""
    named: Named = []
    short: Short = []
    staves = Counter[str]()
    for kind, part in enumerate(wood.parts):
        places = [each for each in room if each[1].kind == kind]
        copies = [(demand, copy) for demand in part.demands for copy in range(1, demand.count + 1)]
        named += [
            (at, spot, Placed(demand.name, copy, _NOWHERE))
            for (at, spot), (demand, copy) in zip(places, copies, strict=False)
        ]
        short += _short(kind, [demand for demand, _ in copies[len(places) :]])
    for kind, pool in enumerate(wood.pools, start=len(wood.parts)):
        places = [each for each in room if each[1].kind == kind]
        nets = [spot.width + wood.kerf - pool.taken for _, spot in places]
        wanted = [steps_up(demand.width, wood.rule) for demand, _ in pool.panels]
        shares, lacking = share_out(nets, wanted)
        for (at, spot), share in zip(places, shares, strict=True):
            if share is not None:
                demand, number = pool.panels[share]
                staves[demand.name] += 1
                placed = Placed(demand.name, staves[demand.name], _NOWHERE, number)
                named.append((at, spot, placed))
        short += _short(kind, [pool.panels[at][0] for at in lacking])
    return named, short


def _short(kind: int, demands: Sequence[Demand]) -> Short:
    return [(kind, demand, demands.count(demand)) for demand in dict.fromkeys(demands)]


def share_out(nets: Sequence[int], panels: Sequence[int]) -> tuple[list[int | None], list[int]]:
    """Which panel each stave goes to, None when it is not needed; and the panels that lack.

    ``nets`` are the staves' net widths, ``panels`` the widths wanted, in whole steps. Few
    staves are better than many.
    """
    shares: list[int | None] = [None] * len(nets)
    if not panels:
        return shares, []
    if len(panels) > 1 and sum(nets) >= sum(panels):
        exact = _exact(nets, panels)
        if exact is not None:
            return exact, []
    free = sorted(range(len(nets)), key=lambda i: (-nets[i], i))
    lacking = []
    for panel in sorted(range(len(panels)), key=lambda p: (-panels[p], p)):
        if sum(nets[i] for i in free) < panels[panel]:
            lacking.append(panel)
            continue
        width = panels[panel]
        while width > 0:
            # The last one is the narrowest that will do.
            enough = [i for i in free if nets[i] >= width]
            stave = enough[-1] if enough else free[0]
            free.remove(stave)
            shares[stave] = panel
            width -= nets[stave]
    return shares, lacking


def _exact(nets: Sequence[int], panels: Sequence[int]) -> list[int | None] | None:
    """The same by a whole-number programme; None when the staves cannot serve all panels."""
    many = len(panels)
    rows: list[Row] = [
        ([(i * many + p, net) for i, net in enumerate(nets)], want, None)
        for p, want in enumerate(panels)
    ]
    rows += [([(i * many + p, 1) for p in range(many)], None, 1) for i in range(len(nets))]
    size = len(nets) * many
    solved = solve([1.0] * size, [1] * size, rows, _NODES, None)
    if solved is None:
        return None
    values = solved[0]
    return [
        next((p for p in range(many) if values[i * many + p] > 0.5), None) for i in range(len(nets))
    ]
