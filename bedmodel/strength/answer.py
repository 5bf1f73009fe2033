"""The whole answer for one bed: members, the frame, and the joints, on one basis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.figures import Figure, figures
from bedmodel.skeleton import Layout
from bedmodel.strength.beam import Unstable
from bedmodel.strength.bed_frame import FRAME_ASSUMPTIONS, FrameCase, frame_cases
from bedmodel.strength.joints import JointBand, joint_bands
from bedmodel.strength.judged import MemberReport
from bedmodel.strength.loads import LOADS_FILE
from bedmodel.strength.members import Basis, basis_of, members
from bedmodel.strength.timber import RULES_FILE
from bedmodel.tables import Wood

_ORDER = ("confirmed", "disputed", "practice", "unconfirmed")


@dataclass(frozen=True)
class Strength:
    """What is reckoned of one bed. ``tips`` says why the centre rail does not stand, or ""."""

    layout: Layout
    basis: Basis
    members: tuple[MemberReport, ...]
    frame: tuple[FrameCase, ...]
    joints: tuple[JointBand, ...]
    tips: str = ""

    @property
    def passed(self) -> bool:
        held = not any(joint.breaks for joint in self.joints)
        return held and not self.tips and all(report.passed for report in self.members)


def strength(layout: Layout, basis: Basis | None = None) -> Strength:
    """Reckon members, frame and joints of a bed."""
    basis = basis or basis_of(layout.sheet)
    try:
        judged = members(layout, basis)
    except Unstable as reason:
        return Strength(layout, basis, (), (), (), str(reason))
    frame = frame_cases(layout, basis.loads, basis.rules)
    return Strength(layout, basis, judged, frame, joint_bands(layout, frame, basis))


def assumed(layout: Layout) -> tuple[str, ...]:
    """What the reckoning takes for granted, in lines for a person."""
    return (
        _support_words(layout),
        *FRAME_ASSUMPTIONS,
        "members are straight beams; side rails turn freely in their fasteners, which is on the "
        "safe side; stiffness is 1.1 of the handbook's bending modulus, with shear apart",
        "a joint's capacity is a share of the lower of two bounds that stay below known tests",
    )


def _support_words(layout: Layout) -> str:
    if layout.deck is not None:
        return f"the deck is {layout.deck.plywood.label}, its values [{layout.deck.plywood.status}]"
    if not layout.has_slats:
        return (
            "a box spring lies on runners and centre rail, taken to be as limp as a row of slats; "
            "it is not judged itself"
        )
    if layout.slat_screws is None:
        return "slats lie loose: an end may lift"
    if layout.slat_screws.only_ends:
        return "webbed slats lie loose but for the first and the last: an end may lift"
    return "slats are screwed to the runners"


def basis_figures(layout: Layout) -> tuple[tuple[str, Figure], ...]:
    """Every figure used, by its parameter; a changed one is marked as the maker's own."""
    found = []
    for section, file in (("loads", LOADS_FILE), ("limits", RULES_FILE)):
        given = getattr(layout.sheet, section)
        for name, figure in figures(file).items():
            value = getattr(given, name)
            if value != figure.value:
                figure = Figure(name, value, figure.unit, figure.meaning, "your own", "your own")
            found.append((f"{section}.{name}", figure))
    return tuple(found)


def unsure_woods(layout: Layout) -> tuple[str, ...]:
    """Woods whose strength was not read in a published table, or on which tables disagree."""
    lines = []
    woods = {timber.name: timber for timber in (layout.sheet.bed_wood, layout.sheet.inside_wood)}
    for timber in woods.values():
        lines += [f"{timber.label}: {what}" for what in _unsure(timber)]
    return tuple(lines)


def surety(layout: Layout, limits: Sequence[str], group: str, least: str = "confirmed") -> str:
    """The least sure of some limits at their proposed values, of both woods, and of ``least``.

    ``group`` names the status of a group of a wood's values. A value of the maker's own is
    taken at their word.
    """
    table = figures(RULES_FILE)
    found = [least]
    for name in limits:
        if getattr(layout.sheet.limits, name) == table[name].value:
            found.append(table[name].status)
    found += [getattr(t, group) for t in (layout.sheet.bed_wood, layout.sheet.inside_wood)]
    return max(found, key=_ORDER.index)


def _unsure(timber: Wood) -> list[str]:
    told = []
    if timber.mechanical_status != "confirmed":
        note = f"; {timber.note}" if timber.note else ""
        told.append(f"strength and stiffness [{timber.mechanical_status}]{note}")
    if timber.elastic_shear_radial is None:
        told.append("its shear modulus is not published, a low share is taken")
    return told
