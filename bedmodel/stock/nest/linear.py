"""Linear and whole-number programmes of the nests, solved by HiGHS: one thread, no clock."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

Row = tuple[list[tuple[int, float]], float]  # entries, and the least that they add up to


def minimise(
    prices: Sequence[float], lower: Sequence[float], upper: Sequence[float], rows: Sequence[Row]
) -> list[float] | None:
    """The values within their limits that cost the least; None when there are none."""
    import highspy

    highs = _solver()
    highs.passModel(_model(prices, lower, upper, rows))
    highs.run()
    if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return list(highs.getSolution().col_value)


def _solver() -> Any:
    import highspy

    highs: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in (("output_flag", False), ("log_to_console", False), ("threads", 1), ("random_seed", 1)):
        highs.setOptionValue(option, value)
    return highs


def _model(
    prices: Sequence[float], lower: Sequence[float], upper: Sequence[float], rows: Sequence[Row]
) -> Any:
    import highspy
    import numpy as np

    model: Any = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(prices), len(rows)
    model.col_cost_ = np.array(prices, dtype=float)
    model.col_lower_ = np.array(lower, dtype=float)
    model.col_upper_ = np.array(upper, dtype=float)
    model.row_lower_ = np.array([least for _, least in rows], dtype=float)
    model.row_upper_ = np.full(len(rows), highspy.kHighsInf)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.cumsum([0] + [len(e) for e, _ in rows], dtype=np.int32)
    model.a_matrix_.index_ = np.array([at for e, _ in rows for at, _ in e], dtype=np.int32)
    model.a_matrix_.value_ = np.array([value for e, _ in rows for _, value in e], dtype=float)
    return model
