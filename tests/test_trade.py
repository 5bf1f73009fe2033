"""The examples against what the trade expects, in every size: facts from outside the code.

Only the +- 20 mm of EN 1334 comes from a standard. The rest is trade practice, with
no source that settles it: 16 to 20 slats under an adult's bed, 2 to 2 3/4 in between
them, a centre rail for all beds wider than a single, every slat on two or three
supports in one plane.
"""

from __future__ import annotations

import re

import pytest

from bedmodel.bed import Piece
from bedmodel.errors import InputError
from bedmodel.pieces import make_pieces
from bedmodel.sheets import check_sheet, load_sheet
from bedmodel.skeleton import Layout, lay_out
from bedmodel.tables import mattress_size, mattress_sizes

INCH = 25.4
EXAMPLES = ("campion", "hawthorn", "sorrel")
SIZES = tuple(mattress_sizes())
# Names that the trade uses for a bed for one person.
SINGLES = re.compile(r"twin|single|eu-(75|80|90|100)x")


def laid(name: str, size: str) -> Layout:
    return lay_out(load_sheet(name, size=size))


def top_of(piece: Piece) -> float:
    """The highest corner of a piece that lies level."""
    shape, place = piece.kind.shape, piece.placement
    corners = [
        (x, y, z) for x in (0, shape.length) for y in (0, shape.width) for z in (0, shape.thickness)
    ]
    return max(place.point(corner)[2] for corner in corners)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", EXAMPLES)
def test_slats_as_a_mattress_maker_wants_them(name: str, size: str) -> None:
    layout = laid(name, size)
    assert mattress_size(size).length >= 74 * INCH  # every tabled mattress is an adult's
    assert 16 <= layout.slats.count <= 20
    if mattress_size(size).length >= 75 * INCH:
        assert 2 * INCH <= layout.slats.gap <= 2.75 * INCH
    # Foam wants gaps under 3 in, at the ends too, where the gap is the same.
    assert layout.slats.gap < 3 * INCH
    slats = [p for p in make_pieces(layout) if p.name.startswith("slat_")]
    assert len(slats) == layout.slats.count


@pytest.mark.parametrize("size", SIZES)
def test_only_beds_wider_than_a_single_have_a_centre_rail(size: str) -> None:
    """By default the line lies at 1100 mm: above a super single of 105 cm, below 120 cm for two.

    The examples draw it lower, where their slats would sag too far in one span.
    """
    single = SINGLES.search(size) is not None and "semi" not in size
    assert single == (mattress_size(size).width <= 1100)
    for name in EXAMPLES:
        over = laid(name, size).sheet.centre_rail.over
        assert (laid(name, size).centre_rail is None) == (mattress_size(size).width <= over), name
        layout = lay_out(load_sheet(name, size=size, changes=["centre_rail.over=auto"]))
        assert (layout.centre_rail is None) == single, name
        pieces = {p.name: p for p in make_pieces(layout)}
        assert ("centre_rail" in pieces) is not single
        supports = ["runner_left", "runner_right", *([] if single else ["centre_rail"])]
        tops = [top_of(pieces[support]) for support in supports]
        assert max(tops) - min(tops) < 1e-9
        for slat in (p for n, p in pieces.items() if n.startswith("slat_")):
            assert slat.placement.origin[2] == pytest.approx(tops[0])
        if not single:
            # Some warranties ask for five points on the floor: four legs and one more.
            feet = [n for n in pieces if n.startswith("support_foot")]
            assert len(feet) >= 1
            assert top_of(pieces[feet[0]]) == pytest.approx(
                pieces["centre_rail"].placement.origin[2]
            )


@pytest.mark.parametrize("width", [1100, 1100.5])
def test_the_line_for_a_centre_rail_is_at_1100_mm(width: float) -> None:
    layout = lay_out(check_sheet({"mattress": {"width": width, "length": 2000}}))
    assert (layout.centre_rail is not None) == (width > 1100)


def test_supports_are_near_enough_for_a_slat() -> None:
    """A slat's span between supports stays below a metre or so in every size."""
    for name in EXAMPLES:
        for size in SIZES:
            layout = laid(name, size)
            spans = 1 if layout.centre_rail is None else 2
            assert layout.slats.length / spans < 1100, (name, size)


@pytest.mark.parametrize("size", SIZES)
def test_a_mattress_over_size_drops_in_by_default(size: str) -> None:
    """EN 1334: length and width of a mattress to +- 20 mm of the nominal."""
    row = mattress_size(size)
    for layout in (*(laid(name, size) for name in EXAMPLES), _plain(size)):
        assert layout.pocket_length >= row.length + 20
        narrowest = 2 * min(layout.half_head, layout.half_foot)
        assert narrowest >= row.width + 20
        # But it is not left swimming: under 2 in play in all at the nominal size.
        assert narrowest - row.width < 2 * INCH
        assert layout.pocket_length - row.length < 2 * INCH


def _plain(size: str) -> Layout:
    return lay_out(check_sheet({"mattress": {"size": size}}))


def test_room_for_a_mattress_over_size_cannot_be_taken_away() -> None:
    for key, least in (("side_clearance", 10), ("end_clearance", 20)):
        with pytest.raises(InputError):
            check_sheet({"mattress": {key: least - 0.1}})
        assert check_sheet({"mattress": {key: least}})


@pytest.mark.parametrize(
    ("size", "width", "length"),
    [
        # Inches, as they are sold.
        ("us-twin", 38 * INCH, 75 * INCH),
        ("us-full", 54 * INCH, 75 * INCH),
        ("us-queen", 1524, 2032),
        ("us-king", 76 * INCH, 80 * INCH),
        ("us-california-king", 72 * INCH, 84 * INCH),
        ("uk-double", 1350, 1900),
        ("eu-160x200", 1600, 2000),
        ("jp-long-king", 1940, 2050),
    ],
)
def test_nominal_sizes(size: str, width: float, length: float) -> None:
    layout = _plain(size)
    assert layout.mattress.width == pytest.approx(width)
    assert layout.mattress.length == pytest.approx(length)


@pytest.mark.parametrize("name", EXAMPLES)
def test_heights_people_can_use(name: str) -> None:
    """Low and adult: the top of the mattress at 400 to 650 mm, the base under 600."""
    layout = lay_out(load_sheet(name))
    assert 400 <= layout.platform + layout.mattress.thickness <= 650
    assert layout.platform < 600
    # The mattress stands above its rails, and the rails hold it.
    assert 20 <= layout.rail_top - layout.platform < layout.mattress.thickness / 2
