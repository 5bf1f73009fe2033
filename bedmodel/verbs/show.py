"""``bedmodel show``: a picture of the bed, and its parts as a tree."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel import kernel
from bedmodel.sheets import folder_name
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import Progress

if TYPE_CHECKING:
    from bedmodel.assembly import Bed


def run(arguments: argparse.Namespace) -> int:
    """Draw the bed and list what it is made of."""
    sheet = asked_layout(arguments).sheet
    say = Progress()
    say("loading the solid modeller")
    kernel.load()
    from bedmodel.assembly import make_bed
    from bedmodel.exports.looks import looks_of
    from bedmodel.exports.picture import png_bytes
    from bedmodel.exports.publish import write_file
    from bedmodel.exports.records import parts_record

    say("making the parts")
    bed = make_bed(sheet)
    say("drawing")
    chosen = arguments.picture or Path(arguments.out) / f"{folder_name(sheet)}.png"
    write_file(Path(chosen), png_bytes(bed.pieces, bed.solids, looks_of(bed)))
    say.done()
    if arguments.json:
        json.dump({"picture": str(chosen), **parts_record(bed)}, sys.stdout, indent=1)
        print()
    else:
        print(tree(bed))
        print(f"picture: {chosen}")
    return 0


def tree(bed: Bed) -> str:
    """The sub-assemblies and, under each, how many of which kind in which size."""
    sheet = bed.layout.sheet
    lines = [f"{bed.name}  {bed.total_mass_kg:.1f} kg"]
    for group, pieces in bed.groups():
        lines.append(f"  {group}")
        kinds = dict.fromkeys(piece.kind.name for piece in pieces)
        for name in kinds:
            count = sum(1 for piece in pieces if piece.kind.name == name)
            size = " x ".join(sheet.show(side) for side in bed.kinds[name].shape.blank)
            stuff = bed.material(name).label
            lines.append(f"    {count:3d}  {name:24s} {size:40s} {stuff}".rstrip())
    return "\n".join(lines)
