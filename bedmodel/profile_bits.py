"""Router bits for edge profiles: the rows of ``data/profile_bits.csv``, lengths in mm."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bedmodel.profiles import Profile
from bedmodel.tables import rows_of
from bedmodel.units import parse_length

# Bits of 12.7 mm (1/2 in) bearing are the most common; taken where no bit of the table is meant.
USUAL_BEARING = 12.7
_ALIKE = 0.01  # mm


@dataclass(frozen=True)
class ProfileBit:
    """One bit: its profile at full depth, and its bearing's diameter (mm)."""

    name: str
    label: str
    profile: Profile
    bearing: float
    status: str
    source: str

    def cuts(self, wanted: Profile) -> bool:
        """Whether it leaves that profile; a chamfer bit makes every smaller chamfer too."""
        own = self.profile
        if own.style != wanted.style:
            return False
        if own.style == "chamfer":
            return own.size >= wanted.size - _ALIKE
        if abs(own.size - wanted.size) > _ALIKE:
            return False
        steps = own.style in ("ovolo", "thumbnail")
        return not steps or abs(own.quirk - wanted.quirk) <= _ALIKE


@functools.cache
def profile_bits() -> Mapping[str, ProfileBit]:
    """Every bit by its name, in the order of the table."""
    return MappingProxyType({row["name"]: _bit(row) for row in rows_of("profile_bits.csv")})


def bit_for(wanted: Profile, on_hand: Sequence[str] = ()) -> ProfileBit | None:
    """The first bit that cuts a profile, of those on hand or of the whole table."""
    rows = profile_bits()
    names = [name for name in rows if name in on_hand] if on_hand else list(rows)
    return next((rows[name] for name in names if rows[name].cuts(wanted)), None)


def bearing_radius(wanted: Profile) -> float:
    """Of the bit that would cut it, or of the usual bearing (mm)."""
    found = bit_for(wanted)
    return (found.bearing if found is not None else USUAL_BEARING) / 2


def _bit(row: Mapping[str, str]) -> ProfileBit:
    def length(cell: str) -> float:
        return parse_length(f"{cell} {row['unit']}", "mm") if cell else 0.0

    style = row["style"]
    assert style in ("roundover", "chamfer", "ovolo", "thumbnail")
    return ProfileBit(
        name=row["name"],
        label=row["label"],
        profile=Profile(style, length(row["size"]), length(row["quirk"])),  # type: ignore[arg-type]
        bearing=length(row["bearing"]),
        status=row["status"],
        source=row["source"],
    )
