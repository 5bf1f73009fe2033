"""Strength and movement as files: the picture, and both records."""

from __future__ import annotations

from pathlib import Path

from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.exports.publish import MANIFEST, fresh_folder, write_bytes
from bedmodel.exports.reckoning_page import strength_page
from bedmodel.movement.parts import movement
from bedmodel.movement.record import movement_record
from bedmodel.sheets import folder_name
from bedmodel.skeleton import Layout
from bedmodel.strength.answer import Strength
from bedmodel.strength.record import strength_record

FOLDER = "strength"


def write_reckoning(layout: Layout, found: Strength, folder: Path) -> None:
    """Write strength.svg, strength.json and movement.json into ``folder``/strength."""
    there = folder / FOLDER
    write_bytes(there / "strength.svg", svg_bytes(strength_page(found)))
    write_bytes(there / "strength.json", json_bytes(strength_record(found)))
    write_bytes(there / "movement.json", json_bytes(movement_record(movement(layout))))


def write_reckoning_alone(layout: Layout, found: Strength, out: Path) -> Path:
    """The same into a folder of its own in ``out``; returns where the files are.

    Raises WriteError; then nothing in ``out`` has changed.
    """
    name = f"{folder_name(layout.sheet)}-strength"
    with fresh_folder(out, name) as folder:
        write_reckoning(layout, found, folder)
        # By its manifest a later run knows the folder as its own.
        write_bytes(folder / MANIFEST, json_bytes({"name": name}))
    return out / name / FOLDER
