"""The figures of ``data/movement_rules.csv``."""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.figures import values_of

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
    glued_height_most: float


def default_movement_rules() -> MovementRules:
    return values_of(MovementRules, MOVEMENT_FILE)
