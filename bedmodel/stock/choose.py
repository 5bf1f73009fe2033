"""Choose which patterns to cut: a whole-number programme over boards and their patterns.

Costs are whole numbers, so a proven bound may be rounded up. HiGHS is stopped by nodes,
never by seconds, and runs in one thread from a fixed seed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bedmodel.stock.grid import Load
from bedmodel.stock.patterns import Pattern
from bedmodel.stock.work import OutOfWork

_SEED = 1


@dataclass(frozen=True)
class Choice:
    """Which patterns are cut, how often; their cost, and the least cost there can be.

    ``short`` is what they do not give, in the order of the load.
    """

    picks: tuple[tuple[int, int, int], ...]  # blank, pattern, how many boards
    cost: int
    bound: int
    short: Load


def first_choice(
    pools: Sequence[Sequence[Pattern]],
    costs: Sequence[int],
    stock: Sequence[int],
    wanted: Load,
    weights: Sequence[float],
) -> Choice:
    """Pick patterns one by one, each time the one that gives the most for its cost."""
    left, boards = list(wanted), list(stock)
    picks: list[tuple[int, int]] = []

    def gain(load: Load) -> float:
        return sum(min(a, b) * w for a, b, w in zip(load, left, weights, strict=True))

    while any(left):
        best, top = None, 0.0
        for blank, group in enumerate(pools):
            if boards[blank]:
                for number, pattern in enumerate(group):
                    value = gain(pattern.load) / max(costs[blank], 1)
                    if value > top + 1e-12:
                        best, top = (blank, number), value
        if best is None:
            break
        picks.append(best)
        boards[best[0]] -= 1
        left = [max(a - b, 0) for a, b in zip(left, pools[best[0]][best[1]].load, strict=True)]
    picks = _needed(picks, pools, costs, wanted, tuple(left))
    counted = tuple((*pick, picks.count(pick)) for pick in sorted(set(picks)))
    cost = sum(costs[blank] * count for blank, _, count in counted)
    return Choice(counted, cost, 0, tuple(left))


def _needed(
    picks: list[tuple[int, int]],
    pools: Sequence[Sequence[Pattern]],
    costs: Sequence[int],
    wanted: Load,
    short: Load,
) -> list[tuple[int, int]]:
    """Leave out boards that later ones have made needless, the dearest first."""
    enough = [a - b for a, b in zip(wanted, short, strict=True)]
    for pick in sorted(picks, key=lambda each: (-costs[each[0]], each)):
        rest = list(picks)
        rest.remove(pick)
        given = [sum(pools[b][n].load[i] for b, n in rest) for i in range(len(wanted))]
        if all(a >= b for a, b in zip(given, enough, strict=True)):
            picks = rest
    return picks


def best_choice(
    pools: Sequence[Sequence[Pattern]],
    costs: Sequence[int],
    stock: Sequence[int],
    wanted: Load,
    start: Choice | None,
    nodes: int,
) -> Choice | None:
    """The cheapest patterns that give all that is wanted; None when there are none.

    ``start`` is a plan to begin from. When the nodes run out it is the best one found;
    raises OutOfWork when that is none.
    """
    columns = [(b, n) for b, group in enumerate(pools) for n in range(len(group))]
    if not columns:
        return None
    rows = _rows(pools, wanted)
    rows += [
        ([(at, 1) for at, (b, _) in enumerate(columns) if b == blank], None, stock[blank])
        for blank in range(len(pools))
    ]
    uppers = [min(stock[b], _most(pools[b][n].load, wanted)) for b, n in columns]
    guess = None
    if start is not None and not any(start.short):
        chosen = {(b, n): count for b, n, count in start.picks}
        guess = [float(chosen.get(column, 0)) for column in columns]
    solved = solve([float(costs[b]) for b, _ in columns], uppers, rows, nodes, guess)
    if solved is None:
        return None
    values, bound = solved
    picks = tuple((b, n, round(x)) for (b, n), x in zip(columns, values, strict=True) if x > 0.5)
    cost = sum(costs[b] * count for b, _, count in picks)
    return Choice(picks, cost, min(math.ceil(bound - 1e-4), cost), (0,) * len(wanted))


def least_short(
    pools: Sequence[Sequence[Pattern]],
    stock: Sequence[int],
    wanted: Load,
    weights: Sequence[float],
    nodes: int,
) -> Choice:
    """The patterns that leave the least wood wanting, all boards being free."""
    columns = [(b, n) for b, group in enumerate(pools) for n in range(len(group))]
    rows = _rows(pools, wanted)
    for i, (entries, _, _) in enumerate(rows):
        entries.append((len(columns) + i, 1))
    rows += [
        ([(at, 1) for at, (b, _) in enumerate(columns) if b == blank], None, stock[blank])
        for blank in range(len(pools))
    ]
    # A cut board costs a trace, so that none is cut for nothing.
    trace = min(w for w in weights) * 1e-4
    prices = [trace] * len(columns) + list(weights)
    uppers = [min(stock[b], _most(pools[b][n].load, wanted)) for b, n in columns] + list(wanted)
    solved = solve(prices, uppers, rows, nodes, None)
    assert solved is not None, "what is short has no limit"
    values = [round(x) for x in solved[0]]
    picks = tuple((b, n, x) for (b, n), x in zip(columns, values, strict=False) if x)
    return Choice(picks, 0, 0, tuple(values[len(columns) :]))


Row = tuple[list[tuple[int, int]], int | None, int | None]


def _rows(pools: Sequence[Sequence[Pattern]], wanted: Load) -> list[Row]:
    flat = [pattern.load for group in pools for pattern in group]
    return [
        ([(at, load[i]) for at, load in enumerate(flat) if load[i]], want, None)
        for i, want in enumerate(wanted)
    ]


def _most(load: Load, wanted: Load) -> int:
    """How often a pattern can be of use."""
    return max(-(-want // have) for have, want in zip(load, wanted, strict=True) if have)


def solve(
    prices: Sequence[float],
    uppers: Sequence[int],
    rows: Sequence[Row],
    nodes: int,
    guess: Sequence[float] | None,
) -> tuple[list[float], float] | None:
    """Minimise prices over whole numbers from 0 to ``uppers`` under rows of least and most.

    Return the values and the proven bound; None when there are none. Raises OutOfWork
    when the nodes do not tell.
    """
    import highspy
    import numpy as np

    # The public class prints a banner when it is made; the one below it does the same work.
    highs: Any = highspy._core._Highs()
    for option, value in _options(nodes).items():
        highs.setOptionValue(option, value)
    model: Any = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(prices), len(rows)
    model.col_cost_ = np.array(prices, dtype=float)
    model.col_lower_ = np.zeros(len(prices))
    model.col_upper_ = np.array(uppers, dtype=float)
    model.row_lower_ = np.array([-highspy.kHighsInf if r[1] is None else r[1] for r in rows], float)
    model.row_upper_ = np.array([highspy.kHighsInf if r[2] is None else r[2] for r in rows], float)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.cumsum([0] + [len(r[0]) for r in rows], dtype=np.int32)
    model.a_matrix_.index_ = np.array([at for r in rows for at, _ in r[0]], dtype=np.int32)
    model.a_matrix_.value_ = np.array([value for r in rows for _, value in r[0]], dtype=float)
    model.integrality_ = [highspy.HighsVarType.kInteger] * len(prices)
    highs.passModel(model)
    if guess is not None:
        solution = highspy.HighsSolution()
        solution.col_value = list(guess)
        highs.setSolution(solution)
    highs.run()
    if highs.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return None
    info = highs.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise OutOfWork
    return list(highs.getSolution().col_value), info.mip_dual_bound


def _options(nodes: int) -> dict[str, Any]:
    return {
        "output_flag": False,
        "threads": 1,
        "random_seed": _SEED,
        "mip_max_nodes": nodes,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.5,
    }
