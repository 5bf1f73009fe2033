"""Linear and whole-number programmes of the nests, solved by HiGHS: one thread, no clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

Row = tuple[list[tuple[int, float]], float]  # entries, and the least that they add up to


@dataclass
class Programme:
    """What is minimised: prices and limits of the values, and rows of least sums.

    ``whole`` are the values that must be whole numbers; sums in ``equal`` rows are exact.
    """

    prices: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    equal: list[Row] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)

    def value(self, lower: float, upper: float, price: float = 0.0) -> int:
        """Add a value; return its number."""
        self.prices.append(price)
        self.lower.append(lower)
        self.upper.append(upper)
        return len(self.prices) - 1


def minimise(
    prices: Sequence[float], lower: Sequence[float], upper: Sequence[float], rows: Sequence[Row]
) -> list[float] | None:
    """The values within their limits that cost the least; None when there are none."""
    import highspy

    highs = _solver()
    highs.passModel(_model(Programme(list(prices), list(lower), list(upper), list(rows))))
    highs.run()
    if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return list(highs.getSolution().col_value)


def least_of(programme: Programme, below: float, nodes_count: int) -> tuple[float, bool, int]:
    """What no solution costs less than, whether that is the end of it, and the nodes it took.

    Only solutions cheaper than ``below`` are looked for; it is the answer when there are none.
    """
    import highspy

    highs = _solver()
    for option, value in (
        ("mip_max_nodes", nodes_count),
        ("objective_bound", below),
        ("mip_rel_gap", 1e-5),
    ):
        highs.setOptionValue(option, value)
    highs.passModel(_model(programme))
    highs.run()
    status = highs.getModelStatus()
    nodes = max(int(highs.getInfo().mip_node_count), 1)
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kObjectiveBound):
        return below, True, nodes
    bound = min(highs.getInfo().mip_dual_bound, below)
    return bound, status == highspy.HighsModelStatus.kOptimal, nodes


def _solver() -> Any:
    import highspy

    # The public class prints a banner when it is made; the one below it does the same work.
    highs: Any = highspy._core._Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 1)):
        highs.setOptionValue(option, value)
    return highs


def _model(programme: Programme) -> Any:
    import highspy
    import numpy as np

    rows = [*programme.rows, *programme.equal]
    model: Any = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(programme.prices), len(rows)
    model.col_cost_ = np.array(programme.prices, dtype=float)
    model.col_lower_ = np.array(programme.lower, dtype=float)
    model.col_upper_ = np.array(programme.upper, dtype=float)
    model.row_lower_ = np.array([least for _, least in rows], dtype=float)
    most = np.full(len(rows), highspy.kHighsInf)
    most[len(programme.rows) :] = [exact for _, exact in programme.equal]
    model.row_upper_ = most
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.cumsum([0] + [len(e) for e, _ in rows], dtype=np.int32)
    model.a_matrix_.index_ = np.array([at for e, _ in rows for at, _ in e], dtype=np.int32)
    model.a_matrix_.value_ = np.array([value for e, _ in rows for _, value in e], dtype=float)
    if programme.whole:
        kinds = [highspy.HighsVarType.kContinuous] * len(programme.prices)
        for at in programme.whole:
            kinds[at] = highspy.HighsVarType.kInteger
        model.integrality_ = kinds
    return model
