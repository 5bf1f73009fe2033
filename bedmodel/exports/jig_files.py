"""Write the jigs of a bed: a DXF, a legend and a setting card each, and all cards as data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bedmodel.bed import Piece
from bedmodel.exports.cnc import dxf_bytes, legend_text
from bedmodel.exports.publish import write_bytes, write_text
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout

FOLDER = "jigs"


def write_jigs(
    layout: Layout, pieces: Sequence[Piece], folder: Path, shop: ShopProfile | None = None
) -> tuple[Jig, ...]:
    """Write every jig of a bed into ``folder``/jigs, and return them to be checked.

    Cutters are those that the ``shop`` has, if one is given. Raises InputError where a cutter
    of the sheet cannot do its work, before anything is written.
    """
    jigs = make_jigs(layout, pieces, shop)
    for jig in jigs:
        write_jig(jig, folder / FOLDER)
    write_bytes(folder / FOLDER / "cards.json", cards_bytes(layout, jigs))
    return jigs


def write_jig(jig: Jig, folder: Path) -> None:
    """The files of one jig."""
    # The unit is in the name, since DXF readers may ignore the one in the file.
    write_bytes(folder / f"{jig.name}_mm.dxf", dxf_bytes(jig.sheet))
    write_text(folder / f"{jig.name}_legend.txt", legend_text(jig.sheet))
    write_text(folder / f"{jig.name}_card.txt", jig.card.text())


def cards_bytes(layout: Layout, jigs: Sequence[Jig]) -> bytes:
    """All setting cards as JSON."""
    import json

    record = {
        "design": layout.sheet.design.name,
        "units": {"length": "as written in each line"},
        "cards": [
            {**jig.card.record(), "file": f"{jig.name}_mm.dxf", "simulated": bool(jig.cuts)}
            for jig in jigs
        ],
    }
    return json.dumps(record, indent=1, ensure_ascii=False).encode("utf-8") + b"\n"
