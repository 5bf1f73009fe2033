"""Wood movement as a record for other programs: travel to 0.1 mm."""

from __future__ import annotations

from typing import Any

from bedmodel.movement.parts import Movement
from bedmodel.strength import CAUTIONS

Record = dict[str, Any]


def movement_record(found: Movement) -> Record:
    """Parts, fixings, effects and slots (mm, % of moisture), and what they rest on."""
    climate = found.climate
    return {
        "units": {"length": "mm", "moisture": "%"},
        "climate": {
            "name": climate.name,
            "driest": climate.low,
            "dampest": climate.high,
            "source": climate.source,
            "status": climate.status,
        },
        "made_at": found.made_moisture,
        "parts": [
            {
                "part": part.part,
                "what": part.what,
                "species": part.species,
                "size": _mm(part.size),
                "at_driest": _mm(part.dry),
                "at_dampest": _mm(part.damp),
            }
            for part in found.parts
        ],
        "fixings": [
            {
                "board": fixing.board,
                "glued_height": _mm(fixing.glued_height),
                "glued_most": fixing.glued_most,
                "risk_of_splitting": fixing.splitting.risk,
                "borrowed": list(fixing.splitting.borrowed),
                "dry": [
                    {"number": dry.number, "has": _mm(dry.has), "needs": _mm(dry.needs)}
                    for dry in fixing.tenons
                ],
            }
            for fixing in found.fixings
        ],
        "panels": [
            {
                "panel": panel.panel,
                "room": _mm(panel.room),
                "swells": _mm(panel.swells),
                "depth": _mm(panel.depth),
                "shrinks": _mm(panel.shrinks),
                "least_depth": _mm(panel.least),
            }
            for panel in found.panels
        ],
        "effects": [
            {
                "what": effect.what,
                "at_driest": _mm(effect.dry),
                "at_dampest": _mm(effect.damp),
                "meaning": effect.meaning,
            }
            for effect in found.effects
        ],
        "slots": [
            {
                "where": slot.where,
                "from_the_middle": _mm(slot.away),
                "travel": _mm(slot.travel),
                "slot_length": _mm(slot.length),
            }
            for slot in found.slots
        ],
        "assumed": list(found.assumptions),
        "cautions": list(CAUTIONS),
    }


def _mm(value: float) -> float:
    return round(value, 1) + 0.0
