"""What the user asked for, from the arguments that every verb of a design shares."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bedmodel.sheets import load_sheet
from bedmodel.skeleton import Layout, lay_out

_EXAMPLE = "boards"

if TYPE_CHECKING:
    from bedmodel.exports.shop_files import Workshop
    from bedmodel.spec import Sheet
    from bedmodel.stock.boards import Board


@dataclass(frozen=True)
class AskedBed:
    """One bed of several asked for: its sheet, and its mattress by name or sides."""

    sheet: Sheet
    size: str


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


def asked_beds(
    sheets: Sequence[str], size: str | None, mattress: str | None, changes: Sequence[str]
) -> tuple[AskedBed, ...]:
    """Every sheet in every size asked for: names between commas, or all; else its own.

    Raises InputError for a sheet that cannot be read or a size that is not in the table; whether
    a bed can be laid out is not looked at.
    """
    from bedmodel.bed_figures import size_word
    from bedmodel.errors import InputError
    from bedmodel.tables import mattress_size, mattress_sizes

    if size is not None and mattress is not None:
        raise InputError("--mattress", mattress, "does not go with --size", "give one of the two")
    sizes: list[str | None] = [None]
    if size is not None and size.strip() == "all":
        sizes = list(mattress_sizes())
    elif size is not None:
        sizes = list(
            dict.fromkeys(mattress_size(word.strip(), "--size").name for word in size.split(","))
        )
    beds = []
    for name in sheets or (None,):
        for each in sizes:
            sheet = load_sheet(name, size=each, mattress=mattress, changes=changes)
            beds.append(AskedBed(sheet, size_word(sheet)))
    return tuple(beds)
