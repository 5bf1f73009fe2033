"""Share the staves of a pool out to its panels."""

from __future__ import annotations

from collections.abc import Sequence

from bedmodel.stock.choose import Row, solve

_NODES = 500


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
