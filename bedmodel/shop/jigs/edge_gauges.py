"""Gauges for edge profiles: a plate that fits a finished edge, and the card of its router bit.

        +----------------------+
        |                      |
        |        +-------------+      lies on the face
        |   ,---'   profile
        |  |
        |  |  lies on the edge
        +--+

The gauge shows whether bit and depth are right on a test piece before a part is spoilt.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedmodel.bed import Piece
from bedmodel.edge_profiles import group_words
from bedmodel.outline import Outline
from bedmodel.profile_bits import ProfileBit, bit_for, profile_bits
from bedmodel.profiles import Moulding, Profile
from bedmodel.shop.cards import ROUTER_CAUTIONS, Card
from bedmodel.shop.jigs.jig import Jig
from bedmodel.shop.sheet import CncSheet
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.units import format_both

NAME = "edge_gauge"
_BACK = 25.0  # mm of gauge behind the arris
_LEG = 40.0  # mm of it on the face and on the edge


def edge_gauge_jigs(
    layout: Layout, pieces: Sequence[Piece], shop: ShopProfile | None
) -> Iterator[Jig]:
    """One gauge and card for each profile of the bed's edges."""
    found: dict[Profile, dict[str, list[Moulding]]] = {}
    for piece in pieces:
        stem = piece.name.removesuffix("_left").removesuffix("_right").replace("_", " ")
        for each in piece.kind.shape.mouldings:
            found.setdefault(each.profile, {}).setdefault(stem, []).append(each)
    for number, (profile, where) in enumerate(found.items(), start=1):
        name = NAME if len(found) == 1 else f"{NAME}_{number}"
        yield _gauge(layout, name, profile, where, shop)


def _gauge(
    layout: Layout,
    name: str,
    profile: Profile,
    where: dict[str, list[Moulding]],
    shop: ShopProfile | None,
) -> Jig:
    title = f"Edge gauge, {profile.style}"
    own = tuple(n for n in shop.router.bits if n in profile_bits()) if shop else ()
    bit = bit_for(profile, own)
    both = _Both(layout)
    first = next(iter(where.values()))[0]
    rows = [
        ("for", "; ".join(_where(stem, found) for stem, found in where.items())),
        ("profile", _profile_words(both, profile)),
        ("bit", _bit_words(both, profile, bit, bool(own))),
        ("bearing", f"{both(2 * first.bearing)}, on the edge below the profile"),
        (
            "depth",
            f"{both(profile.drop)} below the face; creep up on it over a test piece of the same "
            "wood until this gauge fits without light",
        ),
        ("order", "end grain first, if any, then along the grain; in passes, the last one light"),
    ]
    stopped = [each for found in where.values() for each in found if any(each.stopped)]
    if stopped:
        least = min(each.length for each in stopped)
        rows.append(
            (
                "stops",
                f"clamp a block at each end so that the bit's axis stops at its mark: the run-out "
                f"goes on by {both(stopped[0].run_out)}; the shortest run is {both(least)} between "
                "the axes",
            )
        )
    card = Card(name, title, tuple(rows), ROUTER_CAUTIONS)
    notes = (title, "arris in the inner corner", "unit: millimetres, scale 1:1")
    sheet = CncSheet(name, title, gauge_outline(profile), (), (), notes)
    return Jig(sheet, card)


def gauge_outline(profile: Profile) -> Outline:
    """The gauge: what the bit takes off, and two legs that lie on face and edge."""
    w, d = profile.width, profile.drop
    cut = profile.outline()
    path = list(zip(cut.vertices, cut.bulges, cut.names, strict=True))[1:]
    steps = [
        ((-_BACK, -_BACK), 0.0, "side"),
        ((w + _LEG, -_BACK), 0.0, "end"),
        ((w + _LEG, 0.0), 0.0, "face"),
        *((at, bulge if at != (0.0, d) else 0.0, "profile") for at, bulge, _ in path),
        ((0.0, d + _LEG), 0.0, "end"),
        ((-_BACK, d + _LEG), 0.0, "side"),
    ]
    return Outline.of(steps)


class _Both:
    """A length in both units, the sheet's first."""

    def __init__(self, layout: Layout) -> None:
        self._unit = layout.sheet.design.unit

    def __call__(self, mm: float) -> str:
        return format_both(mm, self._unit)


def _where(stem: str, found: Sequence[Moulding]) -> str:
    return f"{stem}: {', '.join(dict.fromkeys(group_words(each.name) for each in found))}"


def _profile_words(both: _Both, profile: Profile) -> str:
    size = both(profile.size)
    words = {
        "roundover": f"roundover, radius {size}",
        "chamfer": f"chamfer, {size} at 45 degrees",
        "ovolo": f"ovolo: quarter round of radius {size} between steps of {both(profile.quirk)}",
        "thumbnail": f"thumbnail: {size} wide, an arc of radius {both(profile.radius)}, flat at a "
        f"step of {both(profile.quirk)} in the face",
    }
    return f"{words[profile.style]}; {both(profile.width)} over the face, {both(profile.drop)} down"


def _bit_words(both: _Both, profile: Profile, bit: ProfileBit | None, own: bool) -> str:
    if bit is None:
        where = "on hand in the shop" if own else "in the table of profile bits"
        return (
            f"none {where} cuts it: CAUTION, buy or grind one for this form, or change the size to "
            "that of a bit you have"
        )
    return f"{bit.label}, bearing {both(bit.bearing)} [{bit.status}]"
