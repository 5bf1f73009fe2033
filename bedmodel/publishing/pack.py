"""A pack: the folder of one bed, known by a key that says all it was made from.

The same key means the same bytes, so a pack whose manifest has the wanted key is kept and any
other is made anew. No journal is needed: the manifests tell what is done.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from bedmodel.bed_figures import bed_figures, size_word
from bedmodel.exports.shop_files import Workshop
from bedmodel.sheets import as_table, folder_name
from bedmodel.spec import Sheet

if TYPE_CHECKING:
    from bedmodel.assembly import Bed
    from bedmodel.checks.finding import Result

Record = dict[str, Any]
ZIP = "pack.zip"


@dataclass(frozen=True)
class Pack:
    """One pack to make: all that goes into it, and the program that it must be made with."""

    sheet: Sheet
    workshop: Workshop
    only: frozenset[str]
    zipped: bool
    stamp: str

    @property
    def name(self) -> str:
        """The name of its folder."""
        return folder_name(self.sheet)

    @functools.cached_property
    def key(self) -> str:
        """Hash of all that its bytes hang on."""
        rack = self.workshop.rack
        return _hashed(
            {
                "sheet": as_table(self.sheet),
                "shop": self.workshop.shop.model_dump(mode="json"),
                "own_shop": self.workshop.given,
                "rack": None if rack is None else [asdict(board) for board in rack],
                "groups": sorted(self.only),
                "zipped": self.zipped,
                "program": self.stamp,
            }
        )


@dataclass(frozen=True)
class Picture:
    """A picture of a design to make, for the gallery."""

    sheet: Sheet
    stamp: str

    @functools.cached_property
    def path(self) -> str:
        """Where it lies beside the packs; the name changes with what is to be seen."""
        key = _hashed({"sheet": as_table(self.sheet), "program": self.stamp})
        return f"pictures/{self.sheet.design.name}-{key[:12]}.jpg"


@dataclass(frozen=True)
class Done:
    """What came of one pack: its record, or why there is none."""

    name: str
    sheet: str
    size: str
    state: Literal["made", "kept", "refused", "failed"]
    record: Record | None = None
    problem: str = ""
    exit_code: int = 0
    seconds: float = 0.0  # of processor time
    peak_mb: float = 0.0

    @property
    def passed(self) -> bool:
        return self.record is not None and bool(self.record["pack"]["passed"])


def _hashed(record: Record) -> str:
    text = json.dumps(record, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def pack_record(pack: Pack, bed: Bed, results: Sequence[Result], folder: Path) -> Record:
    """What the manifest says of a pack, and the page of all packs shows; zips it if wanted."""
    if pack.zipped:
        (folder / ZIP).write_bytes(zip_bytes(folder))
    layout = bed.layout
    figures = bed_figures(layout, pack.workshop.shop)
    sag, m = figures.sag, layout.mattress
    return {
        "key": pack.key,
        "groups": sorted(pack.only),
        "program": pack.stamp,
        "sheet": pack.sheet.design.name,
        "title": pack.sheet.design.title,
        "size": size_word(pack.sheet),
        "unit": pack.sheet.design.unit,
        "mattress": [round(m.width, 2), round(m.length, 2), round(m.thickness, 2)],
        "overall": [round(side, 2) for side in layout.overall],
        "pieces": len(bed.pieces),
        "passed": all(result.passed for result in results),
        "checks": sum(1 for result in results if result.tested),
        "failed": [f"{r.title} ({int(r.code)})" for r in results if not r.passed],
        "cautions": sum(len(result.cautions) for result in results),
        "mass_kg": round(bed.total_mass_kg, 2),
        "cost": None if figures.buying.cost is None else round(figures.buying.cost, 2),
        "no_price": list(figures.unpriced),
        "sag": None if sag is None else round(sag.share, 3),
    }


def zip_bytes(folder: Path) -> bytes:
    """All files of a folder in one archive; the same files give the same bytes."""
    import io
    import zipfile

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path in sorted(_files(folder)):
            # The earliest date that the format knows, and plain permissions: no clock in it.
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), (1980, 1, 1, 0, 0, 0))
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 0o644 << 16
            info.create_system = 3
            archive.writestr(info, path.read_bytes())
    return held.getvalue()


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())
