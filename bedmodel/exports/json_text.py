"""JSON text as every record is written."""

from __future__ import annotations

import json


def json_bytes(record: object) -> bytes:
    """JSON text as every record is written: indented, sorted by insertion, UTF-8."""
    text = json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8") + b"\n"
