"""The whole page: one file that opens from disk and asks for nothing from anywhere.

Its Content-Security-Policy forbids everything from outside, and of scripts and styles all
but those whose hashes it names. What comes from the sheet stands in it as text only.
"""

from __future__ import annotations

import base64
import hashlib
import io
from dataclasses import dataclass
from pathlib import Path

from bedmodel.exports.report.matter import Matter
from bedmodel.exports.report.script_data import Record, picture_address, script_data
from bedmodel.exports.report.sections import contents, head, sections, stuffs
from bedmodel.exports.report.words import data_block, safe
from bedmodel.exports.working import PICTURE

HERE = Path(__file__).parent
LIBRARY = HERE / "vendor" / "three.js"
SCRIPTS = (LIBRARY, HERE / "page" / "view.js", HERE / "page" / "page.js")
STYLE = HERE / "page" / "page.css"
_QUALITY = 82


def still_picture(drawn: bytes) -> bytes:
    """A picture of the bed as the page holds it, for browsers without 3D: a WebP of a PNG.

    Both are transparent beside the bed, so that it stands on the page's ground, dark or light.
    """
    from PIL import Image, features

    if not features.check("webp"):
        return drawn
    held = io.BytesIO()
    Image.open(io.BytesIO(drawn)).save(held, "WEBP", quality=_QUALITY)
    return held.getvalue()


@dataclass(frozen=True)
class Extra:
    """What a page that comes from a server has besides: data, and a script that may ask it."""

    data: str
    script: str


def report_html(matter: Matter, extra: Extra | None = None) -> bytes:
    """The report as one HTML file; with ``extra`` it may ask where it came from, and no other."""
    title = matter.bed.layout.sheet.design.title
    body = [
        head(matter),
        "<main>",
        _stage(title, matter.picture),
        _links(matter),
        *sections(matter),
        "</main>",
        data_block("bed-data", script_data(matter)),
    ]
    return _document(title, f"{title}: {stuffs(matter)}", body, extra)


def model_html(title: str, told: str, data: Record) -> bytes:
    """A page with the view of any model alone: no tables, no checks."""
    body = [
        f'<header class="top"><div class="name"><h1>{safe(title)}</h1>'
        f'<p class="note">{safe(told)}</p></div></header>',
        "<main>",
        _stage(title, b""),
        "</main>",
        data_block("bed-data", data),
    ]
    return _document(title, title, body, None)


def _document(title: str, described: str, body: list[str], extra: Extra | None) -> bytes:
    style = _read(STYLE)
    scripts = [_read(path) for path in SCRIPTS] + ([extra.script] if extra else [])
    policy = _policy(style, scripts) + ("; connect-src 'self'" if extra else "")
    inline = "".join(f"<script>{text}</script>" for text in scripts)
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        '<meta name="referrer" content="no-referrer">',
        f'<meta name="description" content="{safe(described)}">',
        f"<title>{safe(title)}</title>",
        # An empty picture, or the browser would ask for one.
        '<link rel="icon" href="data:,">',
        f"<style>{style}</style></head>",
        '<body><a class="skip" href="#parts">To the parts</a>',
        *body,
        *([extra.data] if extra else []),
        f"{inline}</body></html>",
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _read(path: Path) -> str:
    return path.read_text("utf-8").replace("\r\n", "\n")


def _policy(style: str, scripts: list[str]) -> str:
    """Nothing but what is in the page, and of that only what has one of these hashes."""
    allowed = " ".join(_hash(text) for text in scripts)
    return (
        f"default-src 'none'; script-src {allowed}; style-src {_hash(style)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def _links(matter: Matter) -> str:
    links = "".join(f'<a href="#{safe(key)}">{safe(text)}</a>' for key, text in contents(matter))
    return f'<nav class="links" aria-label="Sections">{links}</nav>'


def _stage(name: str, picture: bytes) -> str:
    """The view, or the still picture where there is none, and the list of parts beside it."""
    width, height = PICTURE
    title = safe(name)
    still = ""
    if picture:
        still = f"""<img class="still" width="{width}" height="{height}"
 alt="{title}, seen from its foot end"
 src="{picture_address(picture)}">"""
    return f"""<div class="stage" id="stage">
<div class="view" id="view">
{still}
<p class="no3d" hidden>No 3D here: this browser does not offer WebGL. Lists and tables below
say the same.</p>
<noscript><p class="no3d">Scripts are off: the picture stands still, lists and tables below say
the same.</p></noscript>
<p class="caption" id="caption" role="status" aria-live="polite"></p>
</div>
<div class="tools" id="tools" role="toolbar" aria-label="View" hidden></div>
<aside class="side" id="parts" aria-label="Parts" tabindex="-1"></aside>
</div>"""
