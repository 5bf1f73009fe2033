"""``bedmodel jigs``: draw the shop jigs, prove the router's by a simulated cut."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.pieces import make_pieces
from bedmodel.sheets import folder_name
from bedmodel.verbs.asked import asked_layout
from bedmodel.verbs.terminal import table, verdict

if TYPE_CHECKING:
    from bedmodel.shop.jigs.jig import Jig
    from bedmodel.shop.simulate import CutReport

Cut = tuple[str, "CutReport", bool]

CAUTION = (
    "Check a sheet's size before any cut; measure bits and bushings; a trial cut in scrap first."
)


def run(arguments: argparse.Namespace) -> int:
    """Write the jigs; 0 when every simulated cut will do, 1 when one will not."""
    layout = asked_layout(arguments)
    from bedmodel.exports.jig_files import FOLDER, write_jigs
    from bedmodel.exports.publish import fresh_folder, write_bytes
    from bedmodel.shop.jigs.jig import check_jigs
    from bedmodel.shop_profile import load_profile

    shop = None if arguments.shop is None else load_profile(arguments.shop)
    name = f"{folder_name(layout.sheet)}-jigs"
    with fresh_folder(Path(arguments.out), name) as folder:
        jigs = write_jigs(layout, make_pieces(layout), folder, shop)
        cuts = check_jigs(jigs)
        # By its manifest a later run knows the folder as its own.
        record = _record(name, jigs, cuts)
        write_bytes(folder / "manifest.json", (json.dumps(record, indent=1) + "\n").encode())
    if arguments.json:
        print(json.dumps({"folder": str(Path(arguments.out) / name), **record}, indent=1))
    else:
        print(jig_table(jigs, cuts))
        print(f"written to {Path(arguments.out) / name / FOLDER}")
        print(CAUTION)
    return 0 if all(passed for _, _, passed in cuts) else 1


def jig_table(jigs: Sequence[Jig], cuts: Sequence[Cut]) -> str:
    """One line a jig, with what its simulated cut leaves and takes too much (mm)."""
    seen = {name: (report, passed) for name, report, passed in cuts}
    rows = []
    for jig in jigs:
        row = [jig.name, jig.card.title, "", "", ""]
        if jig.name in seen:
            report, passed = seen[jig.name]
            depths = (report.uncut_depth, report.overcut_depth)
            row[2:] = [*(f"{depth:.3f}" for depth in depths), verdict(passed)]
        rows.append(row)
    headings = ["jig", "what it is", "left, mm", "too deep, mm", "simulated cut"]
    return table(rows, headings, "  rr")


def _record(name: str, jigs: Sequence[Jig], cuts: Sequence[Cut]) -> dict[str, object]:
    return {
        "name": name,
        "jigs": [jig.name for jig in jigs],
        "simulated_cuts": [
            {
                "jig": jig,
                "uncut_area": round(report.uncut_area, 4),
                "overcut_area": round(report.overcut_area, 4),
                "uncut_depth": round(min(report.uncut_depth, 1e6), 4),
                "overcut_depth": round(report.overcut_depth, 4),
                "passed": passed,
            }
            for jig, report, passed in cuts
        ],
    }
