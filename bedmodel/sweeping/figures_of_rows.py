"""What can be plotted: named figures and varied parameters, by one name each, with their units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.bed_figures import OUTCOMES
from bedmodel.errors import InputError
from bedmodel.sweeping.ranges import Axis
from bedmodel.sweeping.run import Row

MOST_GROUPS = 12  # series that are drawn unasked
MOST_LABELS = 20  # series that can be told apart
_UNITS = {"board feet": "bd ft", "kg": "kg", "angle": "deg"}


@dataclass(frozen=True)
class Track:
    """One thing along an axis: its name, label and unit, and where a row has it.

    ``index`` is the varied parameter's place, None for a named figure. A length is in mm.
    """

    name: str
    label: str
    quantity: str
    unit: str
    index: int | None

    def of(self, row: Row) -> float | str | None:
        """The value in a row: a number, a word, None where it is not known."""
        if self.index is None:
            found: float | str | None = row.figures.get(self.name)
            return found
        value = row.values[self.index]
        return value.shown if value.number is None else value.number

    def shown(self, row: Row) -> str:
        """The value as a person reads it."""
        return str(self.of(row)) if self.index is None else row.values[self.index].shown


@dataclass(frozen=True)
class Plot:
    """What is drawn: y over x, a series for each value of ``group``."""

    x: Track
    y: Track
    group: Track | None

    @property
    def title(self) -> str:
        by = f", by {self.group.label}" if self.group else ""
        return f"{self.y.label[:1].upper()}{self.y.label[1:]} over {self.x.label}{by}"

    @property
    def file(self) -> str:
        names = [track.name for track in (self.y, self.x, self.group) if track]
        return "-".join(name.replace(".", "_") for name in names)


def track(name: str, axes: Sequence[Axis], option: str) -> Track:
    """A figure or a varied parameter by its name, or by the end of it. Raises InputError."""
    for i, axis in enumerate(axes):
        if axis.name == name or axis.name.endswith(f".{name}"):
            unit = axis.unit or _UNITS.get(axis.quantity, "")
            return Track(axis.name, axis.name, axis.quantity, unit, i)
    if name in OUTCOMES:
        outcome = OUTCOMES[name]
        unit = _UNITS.get(outcome.quantity, "")
        return Track(name, outcome.label, outcome.quantity, unit, None)
    known = ", ".join([axis.name for axis in axes] + list(OUTCOMES))
    raise InputError("--plot", option, f"{name}: no such figure", f"there are {known}")


def read_plot(text: str, axes: Sequence[Axis]) -> Plot:
    """Read one ``--plot``. Raises InputError."""
    words = [word.strip() for word in text.split(",")]
    if len(words) not in (2, 3) or not all(words):
        raise InputError("--plot", text, "must be X,Y or X,Y,GROUP", "as cost,sag,wood.species")
    found = [track(word, axes, text) for word in words]
    if found[1].quantity in ("word", "text", "choice"):
        allowed = f"{found[1].name} is a word and cannot be the height of a point"
        raise InputError("--plot", text, allowed, "let it be the first or the group")
    if len(found) == 3 and found[2].index is not None:
        count = len(axes[found[2].index].values)
        if count > MOST_LABELS:
            allowed = f"{found[2].name} would make {count} series, at most {MOST_LABELS}"
            raise InputError("--plot", text, allowed, "let it be the first")
    return Plot(found[0], found[1], found[2] if len(found) == 3 else None)


def usual_plots(axes: Sequence[Axis], rows: Sequence[Row]) -> list[Plot]:
    """Cost against sag, and both over the first parameter; by the second, if it has few values.

    Mass stands for cost where no cost is known.
    """
    priced = any(row.figures.get("cost") is not None for row in rows)
    spent = track("cost" if priced else "mass", axes, "")
    sag = track("sag", axes, "")
    first = track(axes[0].name, axes, "")
    group = None
    if len(axes) > 1 and len(axes[1].values) <= MOST_GROUPS:
        group = track(axes[1].name, axes, "")
    by = group
    if by is None and len(axes[0].values) <= MOST_GROUPS:
        by = first
    return [Plot(spent, sag, by), Plot(first, sag, group), Plot(first, spent, group)]
