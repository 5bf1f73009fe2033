"""The order of work as data: numbered steps from rough boards to the hung bed.

Each step names its parts, its settings, the jigs it needs and what to beware of.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from bedmodel.shop.settings import Batch, batches
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.stock.cut_list import CutList
from bedmodel.units import format_both


@dataclass(frozen=True)
class Step:
    """One step: ``parts`` name rows of the cut list, ``pieces`` the bed's pieces it adds."""

    title: str
    place: str
    parts: tuple[str, ...]
    does: tuple[str, ...]
    settings: tuple[str, ...] = ()
    jigs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()


@dataclass(frozen=True)
class Work:
    """What the steps are told from."""

    layout: Layout
    cuts: CutList
    pieces: tuple[str, ...]
    shop: ShopProfile | None = None

    def named(self, test: Callable[[str], bool]) -> tuple[str, ...]:
        return tuple(item.name for item in self.cuts.items if test(item.name))

    def hung(self, test: Callable[[str], bool]) -> tuple[str, ...]:
        return tuple(name for name in self.pieces if test(name))

    def both(self, mm: float) -> str:
        return format_both(mm, self.layout.sheet.design.unit)


def steps_record(found: tuple[Step, ...], cuts: CutList) -> dict[str, Any]:
    """The steps and the machines' batches as JSON holds them."""
    return {
        "steps": [
            {
                "number": i,
                "title": step.title,
                "place": step.place,
                "parts": list(step.parts),
                "does": list(step.does),
                "settings": list(step.settings),
                "jigs": list(step.jigs),
                "cautions": list(step.cautions),
                "pieces": list(step.pieces),
            }
            for i, step in enumerate(found, start=1)
        ],
        "batches": [
            {
                "machine": batch.machine,
                "setting_mm": round(batch.setting, 3),
                "parts": list(batch.parts),
                "count": batch.count,
            }
            for batch in batches(cuts)
        ],
    }


def machine_settings(work: Work, machine: str) -> tuple[str, ...]:
    return tuple(
        f"{machine} {work.both(batch.setting)}: {_listed(batch)}"
        for batch in batches(work.cuts)
        if batch.machine == machine
    )


def _listed(batch: Batch) -> str:
    return f"{', '.join(name.replace('_', ' ') for name in batch.parts)} ({batch.count} off)"
