"""Every kind of joint between boards and legs, with every way to hang a rail, on every sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

STRENGTH = 900  # codes from here on are of strength and movement
SHEETS = ("campion", "hawthorn", "sorrel")
RAILS = ("hook_plates", "brackets", "bolts", "butt")
DOWELS = ("headboard.joint=dowels", "footboard.joint=dowels")
OWN = ("headboard.joint=tenon", "footboard.joint=tenon")
BOARDS: dict[str, tuple[str, ...]] = {
    "single": (),
    "square": ("tenon.ends=square",),
    "paired": ("tenon.rows=2", "tenon.wall_least=4 mm"),
    "own": OWN,
    "own square": (*OWN, "tenon.ends=square"),
    "dowels": DOWELS,
    "mixed": ("headboard.joint=dowels", "footboard.joint=tenon"),
}
# The platform's joints go with each in turn: they meet neither boards nor legs. A centre rail
# on cleats needs a board as low as itself, which these sheets do not have. Slats that are
# not screwed down lift at their ends and sag more, so they are thicker.
PLATFORMS: tuple[tuple[str, ...], ...] = (
    (),
    ("slat.joint=loose", "slat.thickness=36 mm"),
    ("runner.joint=glue",),
)


@dataclass(frozen=True)
class Joining:
    """One way to join the bed of a sheet."""

    sheet: str
    boards: str
    rails: str
    changes: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.sheet}-{self.boards}-{self.rails}".replace(" ", "_")


def joinings() -> Iterator[Joining]:
    for number, (sheet, boards, rails) in enumerate(product(SHEETS, BOARDS, RAILS)):
        platform = PLATFORMS[number % len(PLATFORMS)]
        changes = (*BOARDS[boards], f"side_rail.joint={rails}", *platform)
        yield Joining(sheet, boards, rails, changes)
