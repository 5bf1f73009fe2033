"""Machine by machine: the parts that share one setting, so that each is set once.

planer      one setting for each finished thickness
rip fence   one for each finished width
stop        one for each finished length, pairs cut together
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from bedmodel.stock.cut_list import CutItem, CutList

Machine = Literal["planer", "rip fence", "crosscut stop"]
_SAME = 0.05  # mm; no setting is finer


@dataclass(frozen=True)
class Batch:
    """Parts done at one setting of a machine (mm); ``parts`` are rows of the cut list."""

    machine: Machine
    setting: float
    parts: tuple[str, ...]
    count: int


def batches(cuts: CutList) -> tuple[Batch, ...]:
    """All batches: the planer's from thick to thin, then fence and stop from large to small."""
    items = list(cuts.lumber)
    # Legs of a shaped outline get their width from a template, not from the fence.
    straight = [item for item in items if not item.nested]
    return (
        *_batches("planer", items, lambda item: item.thickness),
        *_batches("rip fence", straight, lambda item: item.width),
        *_batches("crosscut stop", straight, lambda item: item.length),
    )


def _batches(
    machine: Machine, items: list[CutItem], size: Callable[[CutItem], float]
) -> Iterator[Batch]:
    rows = sorted(items, key=lambda item: (-size(item), item.name))
    group: list[CutItem] = []
    for item in rows:
        if group and size(group[0]) - size(item) > _SAME:
            yield _batch(machine, group, size(group[0]))
            group = []
        group.append(item)
    if group:
        yield _batch(machine, group, size(group[0]))


def _batch(machine: Machine, group: list[CutItem], setting: float) -> Batch:
    names = tuple(item.name for item in group)
    return Batch(machine, setting, names, sum(item.count for item in group))
