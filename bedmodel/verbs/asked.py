"""What the user asked for, from the arguments that every verb of a design shares."""

from __future__ import annotations

import argparse

from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out


def asked_layout(arguments: argparse.Namespace) -> Layout:
    """Lay out the bed of the asked sheet, size and changes; needs no solid modeller.

    Raises InputError for a sheet that cannot be built, before anything heavy loads.
    """
    sheet = load_sheet(
        arguments.sheet,
        size=arguments.size,
        mattress=arguments.mattress,
        changes=arguments.changes,
    )
    return lay_out(sheet)
