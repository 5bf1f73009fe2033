"""What the user asked for, from the arguments that every verb of a design shares."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out

if TYPE_CHECKING:
    from bedmodel.exports.shop_files import Workshop


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


def asked_workshop(shop: str | None, rack: str | None) -> Workshop:
    """The shop, and the boards on the rack where a file of them is given.

    Raises InputError for a file that does not hold them.
    """
    from bedmodel.exports.shop_files import Workshop
    from bedmodel.shop_profile import load_profile
    from bedmodel.stock.rack import read_rack

    boards = None if rack is None else tuple(read_rack(Path(rack)))
    return Workshop(load_profile(shop), boards, shop is not None)
