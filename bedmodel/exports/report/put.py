"""Put the report where it belongs: into the folder of the bed's files, whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bedmodel.assembly import Bed
from bedmodel.errors import WriteError
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.publish import MANIFEST, fresh_folder, write_bytes
from bedmodel.exports.records import folder_files, manifest_record
from bedmodel.sheets import as_table, folder_name

REPORT = "report.html"


def put_report(bed: Bed, out: Path, page_of: Callable[[frozenset[str]], bytes]) -> Path:
    """Write the page beside the bed's other files, or into a folder of its own; its path.

    ``page_of`` makes the page when told which files lie beside it. Files of an earlier
    build stay; the manifest takes the page in. Raises WriteError where those files were
    made from other values of the sheet, since the page would not tell of them.
    """
    name = folder_name(bed.layout.sheet)
    beside = _files_beside(bed, out / name)
    with fresh_folder(out, name) as folder:
        for path, data in beside.items():
            write_bytes(folder / path, data)
        write_bytes(folder / REPORT, page_of(frozenset(beside) | {MANIFEST}))
        files = folder_files(folder)
        write_bytes(folder / MANIFEST, json_bytes(manifest_record(bed, files)))
    return out / name / REPORT


def _files_beside(bed: Bed, folder: Path) -> dict[str, bytes]:
    if not (folder / MANIFEST).is_file():
        return {}  # nothing, or something that ``fresh_folder`` refuses to replace
    files = folder_files(folder)
    manifest = files.pop(MANIFEST)
    files.pop(REPORT, None)
    if files and _sheet_in(manifest) != json.loads(json_bytes(as_table(bed.layout.sheet))):
        raise WriteError(
            f"cannot add {REPORT} to {folder}: the files there were made from other values of "
            "the sheet; run bedmodel build with the same arguments first, or choose another "
            "output folder"
        )
    return files


def _sheet_in(manifest: bytes) -> Any:
    try:
        return json.loads(manifest).get("sheet")
    except (ValueError, AttributeError):
        return None
