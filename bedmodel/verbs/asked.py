"""What the user asked for, from the arguments that every verb of a design shares."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out

_EXAMPLE = "boards"

if TYPE_CHECKING:
    from bedmodel.exports.shop_files import Workshop
    from bedmodel.stock.boards import Board


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

    boards = None if rack is None else asked_rack(rack)[1]
    return Workshop(load_profile(shop), boards, shop is not None)


def asked_rack(rack: str | None) -> tuple[str, tuple[Board, ...]]:
    """The name and the boards of a rack: a file, or an example by its name (the first for none).

    Raises InputError for a file that does not hold one.
    """
    from bedmodel.sheets import shared_folder
    from bedmodel.stock.rack import read_rack

    path = Path(rack or "")
    example = shared_folder() / f"{path.name or _EXAMPLE}.csv"
    # A file of the maker's own comes first.
    if rack is None or (not path.is_file() and rack == path.name and example.is_file()):
        path = example
    return path.name, tuple(read_rack(path))
