"""The joint schedule: every joint with its sizes, and what the joints look like cut through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bedmodel.bed import Piece as BedPiece
from bedmodel.drawing.arrangement import Drafter
from bedmodel.drawing.compose import Item, Piece, arranged
from bedmodel.drawing.curves import Line, bounds_of
from bedmodel.drawing.directions import Look
from bedmodel.drawing.features import from_face
from bedmodel.drawing.figure import Figure, Hatch, Stroke
from bedmodel.drawing.labels import Ink, set_label
from bedmodel.drawing.page import Page
from bedmodel.drawing.part_figures import captioned
from bedmodel.drawing.sections import cut_faces
from bedmodel.drawing.sheet_frame import Title, scale_text
from bedmodel.drawing.tables import Notes, Table
from bedmodel.exports.paper.sheet import Box, Text
from bedmodel.frames import Frame, Vector
from bedmodel.joints import TenonJoint, tenon_joints
from bedmodel.shop.story_stick import mortise_number

_REACH = 130.0  # mm of the board and the leg to either side of the joint face
_SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 8.0, 10.0)
_TURNS = (45.0, 135.0, 20.0, 110.0)


def joint_pages(drafter: Drafter, title: Title) -> list[Page]:
    """The tables of joints, with one section through each end's joint; one sheet if it has room.

    Raises ValueError where not even a row of a table fits the paper.
    """
    joints = list(tenon_joints(drafter.whole.bed.layout))
    shown: dict[str, TenonJoint] = {}
    for joint in joints:
        shown.setdefault(joint.group, joint)
    tenons, notes = Item((), _tenons(drafter, joints)), Item((), _notes(drafter))
    screws = _screws(drafter) if drafter.whole.bed.layout.fastener is not None else None

    def figures(size: float) -> list[Item]:
        drawn = (captioned(joint_figure(drafter, j, size), size) for j in shown.values())
        return [Item((Piece(figure, (0.0, 0.0)),)) for figure in drawn]

    def fitted(tables: list[Item], sizes: tuple[float, ...]) -> Page | None:
        for size in sizes:
            items = [*tables, *figures(size), notes]
            for gap in (12.0, 9.0, 6.0):
                stated = replace(title, scale=scale_text(size))
                page = arranged("joint_schedule", items, drafter.paper, gap, stated)
                if page is not None:
                    return page
        return None

    together = [tenons, Item((), screws)] if screws else [tenons]
    page = fitted(together, _SCALES)
    if page is not None:
        return [page]
    first = fitted([tenons], _SCALES)
    if first is None or screws is None:
        raise ValueError("the joint schedule finds no room")
    return [first, *_table_pages(drafter, screws, title)]


def _table_pages(drafter: Drafter, table: Table, title: Title) -> Iterator[Page]:
    """A table over as many sheets as it needs, as many rows on each as have room."""
    rest, number = table.rows, 2
    while rest:
        for count in range(len(rest), 0, -1):
            part = Item((), replace(table, rows=rest[:count]))
            stated, name = replace(title, scale=""), f"joint_schedule_{number}"
            page = arranged(name, [part], drafter.paper, 6.0, stated)
            if page is not None:
                break
        else:
            raise ValueError("a row of the joint schedule finds no room")
        yield page
        rest, number = rest[count:], number + 1


def _tenons(drafter: Drafter, joints: list[TenonJoint]) -> Table:
    text = drafter.text
    rows = []
    for joint in joints:
        plan = joint.plan
        kind = (
            "dowel" if plan.is_dowel else "tenon on the board" if plan.integral else "loose tenon"
        )
        tenon = (
            f"Ø {text(plan.thickness)}"
            if plan.is_dowel
            else f"{text(plan.width)} × {text(plan.thickness)}"
        )
        leg = f"{text(joint.leg_mortise_length)} × {text(plan.mortise_width)}"
        if plan.is_dowel and joint.is_glued:
            leg = f"Ø {text(plan.mortise_width)}"
        glue = "board and leg" if joint.is_glued else "board only, dry in the leg"
        if plan.integral:
            glue = "yes" if joint.is_glued else "dry in the leg"
        rows.append(
            (
                joint.board.replace("_", " "),
                mortise_number(joint),
                kind,
                tenon,
                "" if plan.integral else text(plan.embedment_board),
                text(plan.embedment_leg),
                leg,
                text(plan.embedment_leg + plan.end_gap),
                text(_height(drafter, joint)),
                glue,
            )
        )
    headings = (
        "board",
        "which",
        "kind",
        "tenon",
        "in board",
        "in leg",
        "mortise in leg",
        "deep",
        "height",
        "glue",
    )
    return Table("Boards to legs, each at both ends", headings, tuple(rows), "    rr rr", 34.0, 6.5)


def _height(drafter: Drafter, joint: TenonJoint) -> float:
    """Above the floor; at a raked end along the leg, from the long corner of its foot."""
    layout = drafter.whole.bed.layout
    end = layout.head if joint.group == "head_end" else layout.foot
    height = end.lean.own(joint.frame.origin)[2] + joint.shift
    return height + end.below_floor if end.lean.rake else height


def _screws(drafter: Drafter) -> Table:
    """Everything else that holds parts together, by what is cut for it."""
    rows = []
    whole = drafter.whole
    for subject in whole.subjects.values():
        if subject.kind.is_metal:
            continue
        for feature in subject.features:
            if feature.first.is_slot or feature.what in ("dowel hole", "tenon"):
                continue
            if subject.kind.name.endswith("_left"):
                continue
            long, wide = feature.first.spans
            size = (
                f"Ø {drafter.text(wide)}"
                if feature.first.is_round
                else (f"{drafter.text(max(long, wide))} × {drafter.text(min(long, wide))}")
            )
            through = getattr(feature.first.item, "through", False)
            deep = "through" if through else drafter.text(from_face(feature.first, subject.places))
            count = str(len(feature.places))
            rows.append((subject.title.removesuffix(" right"), feature.what, count, size, deep))
    merged: dict[tuple[str, ...], int] = {}
    for name, what, count, size, deep in rows:
        key = (name, what, size, deep)
        merged[key] = merged.get(key, 0) + int(count)
    table = [(n, w, str(c), s, d) for (n, w, s, d), c in merged.items()]
    headings = ("part", "cut", "in each", "size", "deep")
    return Table("Fasteners and screws", headings, tuple(table), "  r r", 44.0, 6.5)


def joint_figure(drafter: Drafter, joint: TenonJoint, size: float) -> Figure:
    """A level section through a joint: board, leg and what joins them."""
    whole = drafter.whole
    x, y, z = joint.frame.origin
    right: Vector = (1.0, 0.0, 0.0)
    look = Look(right, (0.0, 1.0, 0.0))
    frame = Frame((0.0, 0.0, z), look.right, look.up, look.toward)
    window = (x - _REACH * 0.8, y - _REACH, x + _REACH, y + _REACH)
    pieces: list[BedPiece] = [
        whole.bed.piece(joint.board),
        whole.bed.piece(f"{joint.leg}_right"),
    ]
    pieces += [
        p
        for p in whole.bed.pieces
        if p.name.startswith(f"{joint.name}") and p.name.endswith("right")
    ]
    strokes: list[Stroke] = []
    hatches: list[Hatch] = []
    names: list[tuple[str, tuple[float, float]]] = []
    for k, piece in enumerate(pieces):
        for face in cut_faces(whole.bed.solid(piece), frame, window):
            for curve in face.curves:
                broken = isinstance(curve, Line) and all(
                    abs(p[0] - window[0]) < 1e-3 for p in curve.points()
                )
                ink = "thin" if broken else "visible"
                strokes.append(Stroke(ink, curve.placed((0.0, 0.0), 1 / size)))  # type: ignore[arg-type]
            rings = tuple(tuple((px / size, py / size) for px, py in r) for r in face.rings)
            hatches.append(Hatch(rings, _TURNS[k % len(_TURNS)]))
            ring = rings[0]
            middle = (
                (min(p[0] for p in ring) + max(p[0] for p in ring)) / 2,
                (min(p[1] for p in ring) + max(p[1] for p in ring)) / 2,
            )
            word = "loose tenon" if k > 1 else ("board", "leg")[k]
            names.append((word, middle))
    body = Box(*bounds_of([s.curve for s in strokes]))
    where = joint.group.replace("_", " ")
    figure = Figure(
        f"{where.capitalize()}, cut level", size, body, tuple(strokes), hatches=tuple(hatches)
    )
    ink_ = Ink.of(figure)
    words: list[Text] = []
    lines: list[Stroke] = []
    for word, at in names:
        label, lead = set_label(ink_, at, word, 7.5, least=2.0, prefer_deg=80.0)
        words.append(label)
        lines += lead
    return figure.adding(words=words, strokes=lines)


def _notes(drafter: Drafter) -> Notes:
    return Notes("Notes", tuple(_lines(drafter)), 84.0)


def _lines(drafter: Drafter) -> Iterator[str]:
    layout = drafter.whole.bed.layout
    yield "heights are those of the joint's middle above the floor, plumb"
    if any(not joint.is_glued for joint in tenon_joints(layout)):
        yield "a wide board is glued near its middle only: the longer mortises let it move"
    yield "right-hand joints are shown; the left ones are their mirror images"
    yield "cut a trial joint in waste from the same stock first"
