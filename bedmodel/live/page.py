"""The report as the server gives it: with a script that hears of a new bed and swaps it in."""

from __future__ import annotations

from pathlib import Path

from bedmodel.exports.report.matter import Matter
from bedmodel.exports.report.page import Extra, report_html
from bedmodel.exports.report.words import data_block, safe

SCRIPT = Path(__file__).parent / "live.js"


def live_html(matter: Matter, version: int) -> bytes:
    """The page of one version. Its policy lets it ask the server that it came from, no other."""
    told = {"version": version, "checked": bool(matter.results)}
    text = SCRIPT.read_text("utf-8").replace("\r\n", "\n")
    return report_html(matter, Extra(data_block("bed-live", told), text))


def waiting_html(said: str) -> bytes:
    """What is shown until there is a first bed: one line, asked for again each second."""
    return (
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>bedmodel</title>'
        '<meta http-equiv="refresh" content="1"><link rel="icon" href="data:,"></head>'
        f"<body><p>{safe(said)}</p></body></html>\n"
    ).encode()
