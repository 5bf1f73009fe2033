"""A sheet for each kind of part: its views, sections, dimensions, and the table of its features."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from bedmodel.drawing.compose import Item, Piece, arranged, stacked
from bedmodel.drawing.curves import bounds_of
from bedmodel.drawing.directions import Side
from bedmodel.drawing.features import Feature, from_face
from bedmodel.drawing.figure import Figure, Stroke
from bedmodel.drawing.outline_figures import is_plain, outline_figure, outline_table
from bedmodel.drawing.page import Page
from bedmodel.drawing.part_figures import Overall, captioned, view_figure
from bedmodel.drawing.part_notes import outline_notes, part_notes
from bedmodel.drawing.profile_figures import profile_figures
from bedmodel.drawing.sawn import with_sawn_angles
from bedmodel.drawing.section_figures import (
    Cutting,
    cuttings,
    ends_alike,
    is_straight,
    section_figure,
    section_key,
    section_look,
)
from bedmodel.drawing.sheet_frame import Title, scale_text
from bedmodel.drawing.subject import Subject
from bedmodel.drawing.tables import Notes, Table
from bedmodel.exports.paper.sheet import Box, Paper, Text

SCALES = {
    "mm": (1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 50.0),
    "inch": (1.0, 2.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 48.0),
}
_GAPS = (16.0, 12.0, 9.0, 6.5)
# Sizes (mm) to try of the picture of the part, and of the one that shows where it goes.
_PICTURES = (
    *((80.0, 52.0), (62.0, 46.0), (46.0, 40.0), (34.0, 34.0)),
    *((0.0, 34.0), (34.0, 0.0), (0.0, 0.0)),
)
Pictures = tuple[float, float]


def part_pages(
    subject: Subject, paper: Paper, title: Title, where: Figure | None = None
) -> Iterator[Page]:
    """The sheet of a part: the largest views that have room, then pictures as far as they have.

    A curved outline has a sheet of its own before it. ``where`` shows the part in the bed.
    """
    parts = Parts(subject, where)
    scales, name = SCALES[subject.unit], subject.kind.name
    if subject.curved:
        yield _outline_page(parts, paper, title)
        title = replace(title, title=f"{title.title}, joints")
        name = f"{name}_joints"

    def laid(
        main: float, detail: float, gap: float, pictures: Pictures = (0.0, 0.0)
    ) -> Page | None:
        items = parts.items(main, detail, pictures)
        return arranged(name, items, paper, gap, replace(title, scale=scale_text(main)))

    for main in scales:
        for detail in (s for s in scales if s <= main):
            if laid(main, detail, _GAPS[-1]) is None:
                continue
            tries = [(gap, sizes) for sizes in _PICTURES for gap in _GAPS]
            pages = (laid(main, detail, gap, sizes) for gap, sizes in tries)
            yield next(page for page in pages if page is not None)
            return
    raise ValueError(f"{name}: no scale fits on {paper.name}")


def is_small(subject: Subject) -> bool:
    """True for a piece with nothing to mark on it, which shares a sheet with others."""
    return not subject.features and not subject.kind.is_metal and max(subject.shape.blank) < _SMALL


def small_pages(subjects: Sequence[Subject], paper: Paper, title: Title) -> Iterator[Page]:
    """Loose tenons and dowels, as many as there is room for on a sheet."""
    return _shared(subjects, paper, title, _small_page)


def metal_pages(subjects: Sequence[Subject], paper: Paper, title: Title) -> Iterator[Page]:
    """What is bought, as many kinds as there is room for on a sheet, each with its table."""
    return _shared(subjects, paper, title, _metal_page)


def _shared(
    subjects: Sequence[Subject],
    paper: Paper,
    title: Title,
    make: Callable[[Sequence[Subject], Paper, Title], Page | None],
) -> Iterator[Page]:
    """Sheets with as many subjects as ``make`` finds room for on each."""
    left = list(subjects)
    while left:
        for count in range(len(left), 0, -1):
            page = make(left[:count], paper, title)
            if page is not None:
                break
        else:
            raise ValueError(f"{left[0].kind.name}: no scale fits on {paper.name}")
        yield page
        left = left[count:]


def _metal_page(subjects: Sequence[Subject], paper: Paper, title: Title) -> Page | None:
    for main in SCALES[subjects[0].unit][:3]:
        items = []
        for subject in subjects:
            parts = Parts(subject, None)
            views = list(parts.items(main, main, (30.0, 0.0)))[:-1]
            count = len(subject.pieces)
            head, *rest = views
            items += [_named(head, f"{subject.title}, {count} to buy"), *rest]
        items.append(Item((), Notes("Notes", _METAL_NOTES, 76.0)))
        for gap in _GAPS:
            stated = replace(title, scale=scale_text(main))
            page = arranged("hardware", items, paper, gap, stated)
            if page is not None:
                return page
    return None


def _named(item: Item, name: str) -> Item:
    """A stack of views with a name over it."""
    top = max(box.y1 for box in item.boxes) + 3.0
    left = min(box.x0 for box in item.boxes)
    first = item.pieces[0]
    at = (left - first.at[0], top - first.at[1])
    words = [Text(name[0].upper() + name[1:], at, 9.5, True)]
    return Item((Piece(first.figure.adding(words=words), first.at), *item.pieces[1:]))


_METAL_NOTES = (
    "bought: check the sizes before anything is cut for it; generic, so makes differ",
    "running dimensions begin at the small circles",
)


def _small_page(subjects: Sequence[Subject], paper: Paper, title: Title) -> Page | None:
    for main in SCALES[subjects[0].unit][:2]:
        items = []
        for subject in subjects:
            words = f"{subject.title}, {len(subject.pieces)} to make"
            name = words[0].upper() + words[1:]
            front = view_figure(subject, "front", main, Overall("length", "width"))
            end = view_figure(subject, "right", main, Overall("thickness"))
            front = captioned(replace(front, name=name), main)
            x = front.box.x1 + 8.0 - end.box.x0
            items.append(Item((Piece(front, (0.0, 0.0)), Piece(end, (x, 0.0)))))
        round_too = any(e.is_arc for s in subjects for e in s.shape.outline.edges())
        items.append(Item((), Notes("Notes", _SMALL_NOTES + _ROUND * round_too, 76.0)))
        for gap in (22.0, *_GAPS):
            page = arranged(
                "small_parts", items, paper, gap, replace(title, scale=scale_text(main))
            )
            if page is not None:
                return page
    return None


_SMALL = 130.0  # mm
_ROUND = ("round edges: a radius of half the thickness",)
_SMALL_NOTES = (
    "edges left sharp; grain along the length",
    "fit each to its mortise: it slides in by hand, without play",
    "plane and rip them as long strips, then crosscut; never rip short pieces",
)


def _outline_page(parts: Parts, paper: Paper, title: Title) -> Page:
    """The outline as large as it goes, with the table of its points."""
    subject, name = parts.subject, parts.subject.kind.name
    title = replace(title, title=f"{title.title}, outline")
    for main in SCALES[subject.unit]:
        figure = captioned(outline_figure(subject, main), main)
        items = [Item((Piece(figure, (0.0, 0.0)),)), Item((), outline_table(subject))]
        items.append(Item((), outline_notes(subject)))
        stated = replace(title, scale=scale_text(main))
        for sizes in _PICTURES:
            for gap in _GAPS:
                full = [*items, *parts.pictures(sizes)]
                page = arranged(f"{name}_outline", full, paper, gap, stated)
                if page is not None:
                    return page
    raise ValueError(f"{name}: no scale fits on {paper.name}")


class Parts:
    """What a part's sheet is made of; each figure is made once for each scale."""

    def __init__(self, subject: Subject, where: Figure | None) -> None:
        self.subject = subject
        self._where = where
        self.cuts = tuple(cuttings(subject))
        self.alike = ends_alike(subject)
        self.stack, self.ends = _sides(subject, self.alike)
        self._picture: Figure | None = None
        self._made: dict[object, Item] = {}

    def items(self, main: float, detail: float, pictures: Pictures) -> Iterator[Item]:
        """The items of the sheet, in the order in which they find their places."""
        yield self._once(("stack", main), lambda: stacked(list(self._stack(main))))
        for side in self.ends:
            yield self._once((side, detail, main), partial(self._end, side, detail, main))
        for cut in self.cuts:
            yield self._once((cut, detail, main), partial(self._cut, cut, detail, main))
        for i, figure in enumerate(profile_figures(self.subject)):
            yield self._once(("profile", i, main), partial(self._profile, figure, main))
        yield from self.pictures(pictures)
        if not is_plain(self.subject) and not self.subject.curved:
            yield self._once("outline", lambda: Item((), outline_table(self.subject)))
        if self.subject.gauges:
            yield self._once("shaping", lambda: Item((), _shaping(self.subject)))
        if self.subject.features:
            yield self._once("table", lambda: Item((), _table(self)))
        yield self._once("notes", lambda: Item((), part_notes(self.subject, self.alike)))

    def pictures(self, sizes: Pictures) -> Iterator[Item]:
        """The part at equal angles, and where it goes; none of size 0."""
        part, where = sizes
        if part:
            yield self._once(("picture", part), lambda: self._drawn(part))
        if where and self._where is not None:
            yield self._once(("where", where), lambda: self._located(where))

    def _once(self, key: object, make: Callable[[], Item]) -> Item:
        if key not in self._made:
            self._made[key] = make()
        return self._made[key]

    def _stack(self, main: float) -> Iterator[Figure]:
        thick_on = next((s for s in ("top", "bottom") if s in self.stack), "")
        for side in self.stack:
            along = "length" if side == self.stack[-1] else ""
            across = {"front": "width", thick_on: "thickness"}.get(side, "")
            if self.subject.curved:  # the sheet of the outline has them
                along, across = "", "thickness" if side == thick_on else ""
            planes = self.cuts if side == "front" else ()
            figure = view_figure(self.subject, side, main, Overall(along, across), planes)
            figure = with_sawn_angles(figure, self.subject, side, main)
            yield captioned(figure, main)

    def _end(self, side: Side, detail: float, main: float) -> Item:
        thick = side == self.ends[0] and not {"top", "bottom"} & set(self.stack)
        overall = Overall(along="thickness" if thick else "")
        figure = view_figure(self.subject, side, detail, overall)
        if self.alike:
            figure = replace(figure, name="Each end")
        return Item((Piece(captioned(figure, main), (0.0, 0.0)),))

    def _cut(self, cut: Cutting, detail: float, main: float) -> Item:
        deepest = max(place.depth for _, place in cut.meets)
        figure = section_figure(self.subject, cut, detail, max(1.8 * deepest, 45.0))
        return Item((Piece(captioned(figure, main), (0.0, 0.0)),))

    def _profile(self, figure: Figure, main: float) -> Item:
        return Item((Piece(captioned(figure, main), (0.0, 0.0)),))

    def _drawn(self, size: float) -> Item:
        if self._picture is None:
            curves = self.subject.picture().visible
            strokes = tuple(Stroke("edge", c) for c in curves)
            self._picture = Figure("Picture", 1.0, Box(*bounds_of(curves)), strokes)
        body = self._picture.body
        figure = self._picture.shrunk(max(body.width, body.height) / size)
        return Item((Piece(figure, (0.0, 0.0)),))

    def _located(self, size: float) -> Item:
        assert self._where is not None
        figure = self._where.shrunk(self._where.body.width / size)
        return Item((Piece(captioned(figure, figure.scale), (0.0, 0.0)),))


def _sides(subject: Subject, alike: bool) -> tuple[tuple[Side, ...], tuple[Side, ...]]:
    """The views that are stacked, and the end views."""
    stack: list[Side] = ["front"]
    if subject.on("top"):
        stack.insert(0, "top")
    if subject.on("bottom") or (subject.shape.face == "xz" and "top" not in stack):
        stack.append("bottom")
    if subject.on("back"):
        stack.append("back")
    ends: list[Side] = []
    if subject.on("left"):
        ends.append("left")
    if subject.on("right") and not alike:
        ends.append("right")
    if not ends and "top" not in stack and "bottom" not in stack:
        ends.append("right")
    return tuple(stack), tuple(ends)


def _table(parts: Parts) -> Table:
    subject = parts.subject
    shown = {
        section_key(feature): f"{cut.letter}\u2013{cut.letter}"
        for cut in parts.cuts
        for feature, place in cut.meets
        if is_straight(place, section_look(subject, cut))
    }
    rows = []
    for feature in subject.features:
        if parts.alike and feature.side == "right":
            continue
        ends = 2 if parts.alike and feature.side == "left" else 1
        rows.append(
            (
                feature.code,
                feature.what + _which_end(parts, feature, ends),
                str(len(feature.places) * ends),
                _size(subject, feature),
                _depth(subject, feature, shown.get(section_key(feature), "")),
            )
        )
    name = "Features"
    if subject.kind.is_metal:
        name = subject.title[0].upper() + subject.title[1:]
    return Table(name, ("", "what", "no.", "size", "deep"), tuple(rows), "  r")


def _shaping(subject: Subject) -> Table:
    """The sizes of what is sawn or turned below the joints, and from where each is measured."""
    rows = ((g.what, subject.text(g.value), g.reference) for g in subject.gauges)
    return Table("Below the joints", ("size", "", "measured"), tuple(rows), " r", 44.0)


def _which_end(parts: Parts, feature: Feature, ends: int) -> str:
    """Of a raked rail, whose ends differ, also which end a row is of."""
    if ends == 2:
        return ", each end"
    if parts.subject.shape.trims and feature.side in ("left", "right"):
        return f", {parts.subject.side_name(feature.side).lower()}"
    return ""


def _size(subject: Subject, feature: Feature) -> str:
    place = feature.first
    long, wide = place.spans
    if place.is_round:
        return f"\u00d8 {subject.text(wide)}"
    long, wide = max(long, wide), min(long, wide)
    text = f"{subject.text(long)} \u00d7 {subject.text(wide)}"
    ends = getattr(place.item, "ends", "")
    return f"{text}, round ends" if ends == "round" else text


def _depth(subject: Subject, feature: Feature, section: str) -> str:
    if getattr(feature.first.item, "through", False):
        return "through"
    if section:
        return f"see {section}"
    return subject.text(from_face(feature.first, subject.places))


def title_of(subject: Subject, design: str, number: str, sheet: str) -> Title:
    """What a part's title block says; the scale comes when the sheet is laid out."""
    name, count = subject.title, str(len(subject.pieces))
    if subject.twin is not None:
        name, count = f"{name}, right mirrored", f"{count}, and {count} mirrored"
    return Title(
        name[0].upper() + name[1:],
        design,
        "Part drawing",
        number,
        sheet,
        "",
        "inches" if subject.unit == "inch" else "millimetres",
        subject.stuff,
        count,
    )
