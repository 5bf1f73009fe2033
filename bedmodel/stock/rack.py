"""Read the rack: a CSV file with one board a row.

    board,species,thickness (in),width (in),length (in),check left (in),...
    A1,red-maple,8/4,7 1/2,10 ft,2,1 1/2,40 to 43 x 2 to 4; 90 to 92 x 0 to 1,62.50

The unit of bare numbers stands in the header and is the same for all columns; a cell
may say its own ("190 mm"). Thickness may be a class such as 8/4. Defects are
rectangles, along the board from its left end x across it from its lower edge. A line
that starts with # is a remark.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NoReturn

from bedmodel.errors import InputError
from bedmodel.stock.boards import QUARTER, Board, Defect, quarters_of
from bedmodel.units import LengthUnit, format_length, parse_length

RACK_BYTES = 1024 * 1024
MOST_BOARDS = 500
MOST_DEFECTS = 12
_UNITS: Mapping[str, LengthUnit] = {"in": "inch", "inch": "inch", "mm": "mm"}
_NEEDED = ("board", "thickness", "width", "length")
_LENGTHS = ("thickness", "width", "length", "check left", "check right", "defects")
_COLUMNS = (*_NEEDED, "species", "check left", "check right", "defects", "price", "note")
_HEADER = re.compile(r"\s*([a-z ]*[a-z])\s*(?:\(\s*([a-z]+)\s*\))?\s*")
_CLASS = re.compile(r"([1-9][0-9]?)/4")
_NAME = re.compile(r"[^\W_][\w .+/-]{0,23}")
_SPECIES = re.compile(r"[a-z][a-z0-9-]{0,39}|")
_MOST_PRICE = 1e6
# What a board can be, so that a slip of the unit is seen (mm): least, most.
_RANGES = {
    "thickness": (9.0, 160.0),
    "width": (20.0, 1500.0),
    "length": (100.0, 8000.0),
    "check left": (0.0, 1000.0),
    "check right": (0.0, 1000.0),
}


def read_rack(path: Path | str) -> tuple[Board, ...]:
    """Read the boards of a file, in its order.

    Raises InputError that names the file, the line and the column.
    """
    path = Path(path)
    try:
        with open(path, "rb") as file:
            data = file.read(RACK_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise InputError(str(path), None, f"cannot be read: {reason}") from None
    if len(data) > RACK_BYTES:
        raise InputError(str(path), None, "must be at most 1 MiB", "keep one board a row")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{path.name} line {line}", None, "must be text in UTF-8", "save it as CSV UTF-8"
        ) from None
    return boards_of(text, path.name)


def boards_of(text: str, name: str = "boards.csv") -> tuple[Board, ...]:
    """Read boards from the text of a rack file; ``name`` is for the refusals."""
    rows = _rows(text, name)
    try:
        line, header = next(rows)
    except StopIteration:
        raise InputError(name, None, "is empty", f"it needs {_wanted()}") from None
    columns, unit = _columns(header, f"{name} line {line}")
    boards: list[Board] = []
    lines: dict[str, int] = {}
    for line, cells in rows:
        place = f"{name} line {line}"
        if len(boards) == MOST_BOARDS:
            raise InputError(place, None, f"has more than {MOST_BOARDS} boards", "split the file")
        if len(cells) != len(columns):
            raise InputError(
                place,
                None,
                f"has {len(cells)} cells, the header has {len(columns)}",
                "put a cell with a comma in double quotes",
            )
        board = _Row(place, dict(zip(columns, cells, strict=True)), unit).board()
        if board.name in lines:
            raise InputError(
                f"{place}, column board",
                board.name,
                f"is also on line {lines[board.name]}",
                "give each board a name of its own",
            )
        lines[board.name] = line
        boards.append(board)
    if not boards:
        raise InputError(name, None, "has no boards", "write one board a row")
    return tuple(boards)


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    if "\0" in text:
        raise InputError(name, None, "has a NUL character", "save it as CSV UTF-8")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        raise InputError(
            f"{name} line {reader.line_num}", None, f"is not CSV: {error}", "mind the double quotes"
        ) from None


def _wanted() -> str:
    return "a header such as: board,species,thickness (in),width (in),length (in)"


def _columns(header: list[str], place: str) -> tuple[list[str], LengthUnit]:
    """The names of the columns, and the unit of bare numbers."""
    names: list[str] = []
    units: dict[str, str] = {}
    for cell in header:
        found = _HEADER.fullmatch(cell.lower().replace("_", " "))
        name = found[1] if found else ""
        if name not in _COLUMNS:
            raise InputError(
                f"{place}, column {cell or len(names) + 1}",
                None,
                "is no column of a rack",
                f"the columns are {', '.join(_COLUMNS)}",
            )
        if name in names:
            raise InputError(f"{place}, column {name}", None, "is there twice")
        names.append(name)
        if found and found[2] is not None:
            if name not in _LENGTHS or found[2] not in _UNITS:
                raise InputError(
                    f"{place}, column {name}", cell, "has no such unit", "lengths take (in) or (mm)"
                )
            units[name] = found[2]
    missing = [name for name in _NEEDED if name not in names]
    if missing:
        raise InputError(place, None, f"lacks the column {missing[0]}", f"it needs {_wanted()}")
    for name in _NEEDED[1:]:
        if name not in units:
            raise InputError(
                f"{place}, column {name}", None, "does not say its unit", f"write {name} (in)"
            )
    kinds = {_UNITS[unit] for unit in units.values()}
    if len(kinds) > 1:
        raise InputError(place, None, "has both in and mm", "use one unit in the header")
    return names, kinds.pop()


class _Row:
    """One board's cells, and where they stand."""

    def __init__(self, place: str, cells: Mapping[str, str], unit: LengthUnit) -> None:
        self.place = place
        self.cells = cells
        self.unit = unit

    def board(self) -> Board:
        name = self.cells["board"]
        if not _NAME.fullmatch(name):
            self.refuse("board", "must be 1 to 24 letters, digits, spaces or . + / -")
        species = self.cells.get("species", "").lower()
        if not _SPECIES.fullmatch(species):
            self.refuse("species", "must be a name such as red-maple, or empty for any")
        thickness, quarters_count = self.thickness()
        width, length = self.length("width"), self.length("length")
        left, right = (
            self.length(c) if self.cells.get(c) else 0.0 for c in ("check left", "check right")
        )
        if left + right >= length:
            self.refuse("check left", "leaves nothing of the board with the other end's check")
        return Board(
            name=name,
            thickness=thickness,
            quarters_count=quarters_count,
            width=width,
            length=length,
            check_left=left,
            check_right=right,
            defects=self.defects(length, width),
            price=self.price(),
            species=species,
        )

    def thickness(self) -> tuple[float, int]:
        named = _CLASS.fullmatch(self.cells["thickness"].replace(" ", ""))
        if not named:
            thickness = self.length("thickness")
            return thickness, quarters_of(thickness)
        quarters_count = int(named[1])
        if not 3 <= quarters_count <= 24:
            self.refuse("thickness", "must be a class of 3/4 to 24/4")
        return quarters_count * QUARTER, quarters_count

    def length(self, column: str) -> float:
        least, most = _RANGES[column]
        value = self.read(column, self.cells[column])
        if not least <= value <= most:
            low, high = (format_length(each, self.unit) for each in (least, most))
            self.refuse(column, f"must be {low} to {high}")
        return value

    def read(self, column: str, text: str) -> float:
        try:
            return parse_length(text, self.unit)
        except ValueError as error:
            self.refuse(column, str(error))

    def defects(self, length: float, width: float) -> tuple[Defect, ...]:
        texts = [text for text in self.cells.get("defects", "").split(";") if text.strip()]
        if len(texts) > MOST_DEFECTS:
            self.refuse("defects", f"has more than {MOST_DEFECTS} defects", "join near ones")
        return tuple(self.defect(text, length, width) for text in texts)

    def defect(self, text: str, length: float, width: float) -> Defect:
        sides = [side.split(" to ") for side in text.lower().replace("×", "x").split(" x ")]
        if [len(side) for side in sides] != [2, 2]:
            self.refuse("defects", f"has {text.strip()!r}", "write it as 40 to 43 x 2 to 4")
        (start, stop), (low, high) = ([self.read("defects", end) for end in s] for s in sides)
        if not (0 <= start < stop <= length):
            self.refuse("defects", f"has {text.strip()!r}, which is not along the board")
        if not (0 <= low < high <= width):
            self.refuse("defects", f"has {text.strip()!r}, which is not across the board")
        return Defect(start, stop, low, high)

    def price(self) -> float | None:
        text = self.cells.get("price", "")
        if not text:
            return None
        try:
            price = float(text)
        except ValueError:
            price = math.nan
        if not 0 <= price <= _MOST_PRICE:
            self.refuse("price", "must be the board's price, a number without a currency")
        return price

    def refuse(self, column: str, allowed: str, remedy: str = "") -> NoReturn:
        value = self.cells.get(column) or '""'
        raise InputError(f"{self.place}, column {column}", value, allowed, remedy)
