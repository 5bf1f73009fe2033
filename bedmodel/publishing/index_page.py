"""The page that shows all packs: a picture of each design, and a table of its sizes.

It is one file without a script and asks for nothing from anywhere, but links into the packs
beside it. Past so many packs each design has a page of its own, or the page would be too heavy.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

from bedmodel.exports.plain_page import page_html, picture_address, safe
from bedmodel.publishing.pack import ZIP, Done
from bedmodel.units import LengthUnit, format_length

INDEX = "index.html"
CATALOGUE = "catalogue.json"
ONE_PAGE = 1500  # packs
SAFETY = (
    "A design aid from average clear-wood values, not a certificate. Adult low beds only: not for "
    "cots, children's, bunk, loft, adjustable or medical beds. Local codes and licensed practice "
    "decide. Machines and wood dust injure: the cautions stand in each pack beside the work."
)
# What a reader opens first, by the file's place in a pack.
_LINKS = (
    ("report.html", "report"),
    ("plan.pdf", "plan book"),
    ("drawings/drawings.pdf", "drawings"),
    ("shop/buying.csv", "buying list"),
    ("shop/cut_list.csv", "cut list"),
    ("shop/labels.pdf", "labels"),
    ("strength/strength.svg", "strength"),
    ("model/bed.step", "STEP model"),
    (ZIP, "all, zipped"),
    ("checks.json", "checks"),
    ("manifest.json", "manifest"),
)


@dataclass
class Design:
    """One sheet: its picture as a JPEG, empty for none, and what came of each size."""

    name: str
    title: str
    picture: bytes = b""
    packs: list[Done] = field(default_factory=list)

    @property
    def page(self) -> str:
        """Its own page, where the designs do not stand on one."""
        return f"design-{self.name}.html"


def pages(title: str, designs: Sequence[Design]) -> dict[str, bytes]:
    """Every page by its name; ``index.html`` is the one to open."""
    if sum(len(design.packs) for design in designs) <= ONE_PAGE:
        body = [_top(title, designs), "<main>"]
        body.append(_gallery(designs, {d.name: f"#{d.name}" for d in designs}))
        body += [_section(design) for design in designs]
        return {INDEX: page_html(title, "\n".join([*body, "</main>", _foot()]))}
    found = {
        design.page: page_html(
            f"{design.title}: {title}",
            f'<main><p><a href="{INDEX}">{safe(title)}</a></p>{_section(design)}</main>{_foot()}',
        )
        for design in designs
    }
    gallery = _gallery(designs, {design.name: design.page for design in designs})
    found[INDEX] = page_html(title, f"{_top(title, designs)}<main>{gallery}</main>{_foot()}")
    return found


def catalogue(designs: Sequence[Design]) -> list[dict[str, Any]]:
    """The same for other programs: a record a pack, without lengths rounded or files listed."""
    return [
        {"folder": done.name, "state": "made", **done.record["pack"]}
        if done.record is not None
        else {
            "folder": done.name,
            "state": done.state,
            "sheet": done.sheet,
            "size": done.size,
            "problem": done.problem,
        }
        for design in designs
        for done in design.packs
    ]


def _top(title: str, designs: Sequence[Design]) -> str:
    every = [done for design in designs for done in design.packs]
    made = [done for done in every if done.record is not None]
    bad = sum(not done.passed for done in made)
    refused = sum(done.state == "refused" for done in every)
    lost = sum(done.state == "failed" for done in every)
    told = [_count(len(designs), "design"), _count(len(made), "pack")]
    words = [f'<span class="good">{len(made) - bad} passed all checks</span>'] if made else []
    if bad:
        words.append(f'<span class="bad">{bad} failed a check</span>')
    if refused:
        words.append(f'<span class="care">{_count(refused, "size")} refused</span>')
    if lost:
        words.append(f'<span class="bad">{lost} could not be made</span>')
    return (
        f'<header class="top"><h1>{safe(title)}</h1>'
        f'<p class="note">{", ".join(told)}. {"; ".join(words)}</p></header>'
    )


def _count(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _gallery(designs: Sequence[Design], links: dict[str, str]) -> str:
    cards = []
    for design in designs:
        made = sum(done.record is not None for done in design.packs)
        bad = sum(done.record is not None and not done.passed for done in design.packs)
        told = _count(made, "size")
        if bad:
            told += f', <span class="bad">{bad} failed a check</span>'
        if len(design.packs) > made:
            told += f', <span class="care">{len(design.packs) - made} not made</span>'
        link = safe(links[design.name])
        cards.append(
            f"<li>{_picture(design)}<div>"
            f'<a class="name" href="{link}">{safe(design.title)}</a><p class="note">{told}</p>'
            "</div></li>"
        )
    return f'<ul class="gallery">{"".join(cards)}</ul>'


def _picture(design: Design) -> str:
    if not design.picture:
        return '<span class="blank"></span>'
    address = picture_address(design.picture, "image/jpeg")
    return f'<img src="{address}" width="720" height="427" alt="{safe(design.title)}">'


_HEADS = (
    ("size", ""),
    ("mattress", ""),
    ("bed, width × length × height", ""),
    ("checks", ""),
    ("mass", ' class="n"'),
    ("lumber", ' class="n"'),
    ("sag", ' class="n"'),
    ("files", ""),
)


def _section(design: Design) -> str:
    heads = "".join(f'<th scope="col"{kind}>{safe(head)}</th>' for head, kind in _HEADS)
    rows = "\n".join(_row(done) for done in design.packs)
    return (
        f'<section class="design" id="{safe(design.name)}"><h2>{safe(design.title)}</h2>\n'
        f'<div class="wide"><table class="stack"><thead><tr>{heads}</tr></thead><tbody>\n'
        f"{rows}\n</tbody></table></div></section>"
    )


def _row(done: Done) -> str:
    head = f'<th scope="row">{safe(done.size)}</th>'
    if done.record is None:
        word = "refused" if done.state == "refused" else "not made"
        kind = "care" if done.state == "refused" else "bad"
        span = len(_HEADS) - 1
        return (
            f'<tr>{head}<td colspan="{span}" class="{kind}">{word}: {safe(done.problem)}</td></tr>'
        )
    told = done.record["pack"]
    unit = cast(LengthUnit, told["unit"])
    cells = [
        (_sides(told["mattress"], unit), "mattress", ""),
        (_sides(told["overall"], unit), "bed", ""),
        (_verdict(told), "", ""),
        (f"{told['mass_kg']:.1f} kg", "mass", "n"),
        (_cost(told), "lumber", "n"),
        ("does not stand" if told["sag"] is None else f"{told['sag']:.2f}", "sag", "n"),
        (_files(done.name, done.record["files"]), "", "files"),
    ]
    return f"<tr>{head}{''.join(_cell(*cell) for cell in cells)}</tr>"


def _cell(text: str, of: str, kind: str) -> str:
    name = f' data-of="{safe(of)}"' if of else ""
    style = f' class="{kind}"' if kind else ""
    return f"<td{style}{name}>{text}</td>"


def _sides(lengths: Iterable[float], unit: LengthUnit) -> str:
    shown = [format_length(length, unit) for length in lengths]
    word = f" {shown[-1].rpartition(' ')[2]}"
    shown = [*(text.removesuffix(word) for text in shown[:-1]), shown[-1]]
    return " × ".join(safe(text).replace(" ", "&nbsp;") for text in shown)


def _verdict(told: dict[str, Any]) -> str:
    cautions = f", {_count(told['cautions'], 'caution')}" if told["cautions"] else ""
    if told["passed"]:
        return f'<span class="good">{told["checks"]} passed</span>{safe(cautions)}'
    names = "; ".join(told["failed"])
    return f'<span class="bad">FAILED: {safe(names)}</span>{safe(cautions)}'


def _cost(told: dict[str, Any]) -> str:
    if told["cost"] is None:
        return f'<span class="care" title="{safe(", ".join(told["no_price"]))}">no price</span>'
    return f"{told['cost']:.2f}"


def _files(name: str, files: Sequence[str]) -> str:
    """Links to what a reader opens; templates each by its leg."""
    there = set(files) | {"manifest.json"}
    links = [(path, word) for path, word in _LINKS if path in there]
    links += [
        (path, f"{path.removeprefix('templates/').removesuffix('_mm.dxf').replace('_', ' ')} DXF")
        for path in files
        if path.startswith("templates/") and path.endswith("_mm.dxf")
    ]
    return " ".join(f'<a href="{safe(f"{name}/{path}")}">{safe(word)}</a>' for path, word in links)


def _foot() -> str:
    return (
        "<footer><p>Lumber: cost of what is to be bought, by the prices of the shop that the packs "
        "were made for. Sag: the worst member's share of what is allowed; above 1 is too much. "
        f"Mass without mattress.</p><p>{safe(SAFETY)}</p></footer>"
    )
