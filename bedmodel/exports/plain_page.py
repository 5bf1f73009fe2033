"""A page of words, tables and pictures in one file: no script, nothing from outside.

Its Content-Security-Policy forbids all but its own style, by its hash, and pictures that
stand in the page. Whatever comes from a sheet is escaped by ``safe``.
"""

from __future__ import annotations

import base64
import hashlib
import html


def safe(text: object) -> str:
    """Text as it stands between tags, or in a quoted attribute."""
    return html.escape(str(text), quote=True)


def picture_address(data: bytes, kind: str) -> str:
    """A picture that stands in the page itself; ``kind`` as image/jpeg."""
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"


def page_html(title: str, body: str) -> bytes:
    """A whole page round ``body``, which is HTML."""
    digest = base64.b64encode(hashlib.sha256(STYLE.encode("utf-8")).digest()).decode("ascii")
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{safe(title)}</title>",
        # An empty picture, or the browser would ask for one.
        '<link rel="icon" href="data:,">',
        f"<style>{STYLE}</style></head>",
        f"<body>{body}</body></html>",
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


STYLE = """\
:root {
  color-scheme: light dark;
  --paper: #f5f2ec; --sheet: #fffdf9; --ink: #26231f; --soft: #6a645b; --line: #ddd6ca;
  --accent: #1f6f6b; --tint: #ece7dd; --good: #2c6a3f; --bad: #a4311f; --care: #8a5a00;
  --serif: "Iowan Old Style", "Palatino Linotype", Palatino, "Book Antiqua", Georgia, serif;
  --sans: system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", sans-serif;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #1b1c1d; --sheet: #232527; --ink: #ece7de; --soft: #a59e93; --line: #3a3c3f;
    --accent: #6cc0b8; --tint: #2b2d2f; --good: #86c795; --bad: #f0917c; --care: #e0b15c;
  }
}
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 15px/1.5 var(--sans);
  font-variant-numeric: tabular-nums; overflow-wrap: anywhere; }
h1, h2 { font-family: var(--serif); font-weight: 600; line-height: 1.15; text-wrap: balance; }
h1 { margin: 0; font-size: 30px; }
h2 { margin: 0 0 4px; font-size: 23px; }
p { margin: 0 0 8px; max-width: 76ch; }
a { color: var(--accent); text-underline-offset: 2px; }
:focus-visible { outline: 2px solid var(--accent); outline-offset: 2px; }
.note { color: var(--soft); }
.good { color: var(--good); } .bad { color: var(--bad); } .care { color: var(--care); }
.top, main, footer { max-width: 1240px; margin: 0 auto; padding: 20px 28px 6px; }
footer { padding-bottom: 28px; color: var(--soft); }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; background: var(--sheet); margin: 6px 0 18px;
  overflow-wrap: normal; }
th, td { text-align: left; vertical-align: top; padding: 5px 10px; border-bottom: 1px solid
  var(--line); font-weight: 400; }
thead th { font-size: 13px; color: var(--soft); white-space: nowrap; }
th[scope=row] { font-weight: 600; }
.n { text-align: right; white-space: nowrap; }
.beds { width: auto; }
.beds td { min-width: 12em; max-width: 24em; }
.beds td.bad { min-width: 20em; }
.beds th[scope=row] { min-width: 9em; font-weight: 400; color: var(--soft); position: sticky;
  left: 0; background: var(--sheet); }
.beds thead th { color: var(--ink); font-weight: 600; font-size: 15px; white-space: normal; }
.section th { font-family: var(--serif); font-size: 17px; font-weight: 600; background:
  var(--tint); }
.gallery { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 330px), 1fr));
  gap: 18px; list-style: none; margin: 0 0 26px; padding: 0; }
.gallery li { background: var(--sheet); border: 1px solid var(--line); border-radius: 10px;
  overflow: hidden; }
.gallery img, .design img { display: block; width: 100%; height: auto; background: #fff; }
.gallery div { padding: 10px 16px 12px; }
.gallery p { margin: 0; }
.gallery a.name { font: 600 20px var(--serif); text-decoration: none; }
.blank { display: block; aspect-ratio: 27 / 16; background: var(--tint); }
.stack th[scope=row] { white-space: nowrap; }
.design { padding-top: 14px; }
.files a { margin-right: 12px; white-space: nowrap; }
.plot { background: #fff; border: 1px solid var(--line); border-radius: 10px; margin: 8px 0 18px;
  max-width: 820px; }
.plot img { display: block; width: 100%; height: auto; }
@media (max-width: 720px) {
  .top, main, footer { padding-left: 14px; padding-right: 14px; }
  h1 { font-size: 25px; }
  .stack thead { display: none; }
  .stack, .stack tbody, .stack tr, .stack td, .stack th { display: block; border: 0; padding: 1px 0;
    text-align: left; white-space: normal; }
  .stack tr { border-bottom: 1px solid var(--line); padding: 8px 12px; }
  .stack td[data-of]::before { content: attr(data-of) " "; color: var(--soft); }
  .stack td:empty { display: none; }
}
@media print { body { background: #fff; } .wide { overflow: visible; } }
"""
