"""The figures of ``data/movement_rules.csv``."""

from __future__ import annotations

from dataclasses import dataclass, fields

from bedmodel.figures import values_of
from bedmodel.spec import Sheet

MOVEMENT_FILE = "movement_rules.csv"


@dataclass(frozen=True)
class MovementRules:
    """What movement is judged by; the file says what each is and where it is from."""

    made_moisture: float
    along_share: float
    relaxed_share: float
    risk_low_below: float
    risk_some_below: float
    screw_clearance: float


def movement_rules_of(sheet: Sheet) -> MovementRules:
    """The figures as the sheet has them."""
    given = sheet.climate
    return MovementRules(**{f.name: getattr(given, f.name) for f in fields(MovementRules)})


def default_movement_rules() -> MovementRules:
    return values_of(MovementRules, MOVEMENT_FILE)
