"""What a bed comes to, in figures: sizes, wood, mass, cost, sag, checks, joints; no solid is made.

One function gathers them for every place that sets beds side by side. ``OUTCOMES`` names each
figure once, with its quantity, for tables, files and plots. Inside: mm, kg, shares of what is
allowed; money is in the shop's own currency.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from bedmodel.bed import Piece
from bedmodel.checks.finding import Caution, Code, Result
from bedmodel.checks.movement import movement_results
from bedmodel.checks.strength import strength_results
from bedmodel.comfort import comfort, lowest_edge
from bedmodel.materials import material
from bedmodel.movement.parts import Movement, movement
from bedmodel.pieces import make_pieces
from bedmodel.shape_volume import volume
from bedmodel.sheets import folder_name
from bedmodel.shop_profile import ShopProfile
from bedmodel.skeleton import Layout
from bedmodel.spec import Sheet
from bedmodel.stock.buying import BuyingList, buying_list
from bedmodel.stock.cut_list import cut_list
from bedmodel.strength.answer import Strength, strength
from bedmodel.strength.joints import JointBand
from bedmodel.strength.judged import Case, MemberReport, Use
from bedmodel.tables import mattress_size

MM3_PER_M3 = 1e9
_BANDS = ("ample", "fair", "doubtful")
_RISKS = ("low", "some", "high")

Quantity = Literal["length", "count", "board feet", "kg", "money", "share", "word"]


@dataclass(frozen=True)
class Worst:
    """The member that one thing asks most of: share of what is allowed, where, under what.

    ``x`` is the place along the member (mm), ``value`` and ``limit`` in mm or MPa.
    """

    member: str
    what: str
    load: str
    share: float
    value: float
    limit: float
    x: float


@dataclass(frozen=True)
class BedFigures:
    """All that is known of one bed without its solids."""

    layout: Layout
    pieces: int
    kinds: int
    hardware: int
    buying: BuyingList
    mass_kg: float
    reckoned: Strength
    moved: Movement
    results: tuple[Result, ...]

    @property
    def sheet(self) -> Sheet:
        return self.layout.sheet

    @property
    def passed(self) -> bool:
        """Whether every check that needs no solid passed."""
        return all(result.passed for result in self.results)

    @property
    def failed(self) -> tuple[Code, ...]:
        return tuple(result.code for result in self.results if not result.passed)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        return tuple(caution for result in self.results for caution in result.cautions)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Lumber that the shop has no price for: the cost is not known then."""
        rows = self.buying.rows
        return tuple(f"{row.species} {row.class_name}" for row in rows if row.cost is None)

    def worst(self, wanted: Callable[[Use], bool]) -> Worst | None:
        """The highest share of what is allowed; None where nothing is reckoned."""
        found: list[tuple[Use, Case, MemberReport]] = [
            (use, case, report)
            for report in self.reckoned.members
            for case in report.cases
            for use in case.uses
            if wanted(use)
        ]
        if not found:
            return None
        use, case, report = max(found, key=lambda each: each[0].use)
        return Worst(report.member, use.what, case.load, use.use, use.value, use.limit, use.x)

    @property
    def sag(self) -> Worst | None:
        return self.worst(lambda use: use.what.startswith("sag"))

    @property
    def stress(self) -> Worst | None:
        return self.worst(lambda use: not use.what.startswith("sag") and use.what != "bearing")

    @property
    def joint(self) -> JointBand | None:
        """The joint of the worst band that is known, the most asked of in it."""
        known = [joint for joint in self.reckoned.joints if joint.band in _BANDS]
        return max(
            known, key=lambda joint: (_BANDS.index(joint.band), joint.use or 0), default=None
        )

    @property
    def joints_unknown(self) -> tuple[str, ...]:
        found = (joint.joint for joint in self.reckoned.joints if joint.band == "not known")
        return tuple(dict.fromkeys(found))

    @property
    def split_risk(self) -> str:
        risks = [fixing.splitting.risk for fixing in self.moved.fixings]
        return max(risks, key=_RISKS.index, default="low")

    @property
    def swing(self) -> float:
        """How far the widest part goes between driest and dampest (mm)."""
        return max((part.swing for part in self.moved.parts), default=0.0)

    @property
    def wobble(self) -> float | None:
        """How far the headboard's top gives with usual rail fasteners (mm), by its worst case."""
        cases = [case for case in self.reckoned.frame if case.limit is not None]
        return max((case.by_class["usual"].moved for case in cases), default=None)

    @property
    def size(self) -> str:
        """The mattress by its name in the table, or by its sides (mm)."""
        return size_word(self.sheet)


def size_word(sheet: Sheet) -> str:
    """A mattress by its name in the table, or by its own sides (mm)."""
    given = sheet.mattress
    if given.width is None and given.length is None:
        return mattress_size(given.size).name
    return folder_name(sheet).removeprefix(f"{sheet.design.name}-")


def bed_figures(layout: Layout, shop: ShopProfile) -> BedFigures:
    """Gather the figures of one bed as this shop would make it.

    Raises InputError for what the shop cannot make.
    """
    sheet = layout.sheet
    pieces = make_pieces(layout)
    cuts = cut_list(pieces, shop, sheet.design.unit, layout)
    reckoned, moved = strength(layout), movement(layout)
    every = (*strength_results(reckoned), *movement_results(layout, moved))
    results = tuple(sorted(every, key=lambda result: result.code))
    metal = sum(piece.kind.is_metal for piece in pieces)
    return BedFigures(
        layout=layout,
        pieces=len(pieces) - metal,
        kinds=len({piece.kind.name for piece in pieces if not piece.kind.is_metal}),
        hardware=metal,
        buying=buying_list(cuts, shop, sheet.wood.species, sheet.own_woods),
        mass_kg=mass_kg(pieces, sheet),
        reckoned=reckoned,
        moved=moved,
        results=results,
    )


def mass_kg(pieces: Sequence[Piece], sheet: Sheet) -> float:
    """Mass of a bed from its shapes alone, at 12 % moisture content, without mattress."""
    own = sheet.own_woods
    kinds = {piece.kind.name: piece.kind for piece in pieces}
    each = {
        name: volume(kind.shape) / MM3_PER_M3 * material(kind.species, own).density_kg_m3
        for name, kind in kinds.items()
    }
    return sum(each[piece.kind.name] for piece in pieces)


@dataclass(frozen=True)
class Outcome:
    """One figure by name: what it is, its quantity, and how it is had."""

    name: str
    label: str
    quantity: Quantity
    of: Callable[[BedFigures], float | str | None]


def _mattress(side: str) -> Callable[[BedFigures], float]:
    return lambda found: float(getattr(found.layout.mattress, side))


def _overall(side: int) -> Callable[[BedFigures], float]:
    return lambda found: found.layout.overall[side]


def _slats(found: BedFigures) -> int | None:
    return found.layout.slats.count if found.layout.has_slats else None


def _slat_gap(found: BedFigures) -> float | None:
    return found.layout.slats.gap if found.layout.has_slats else None


def _share(found: Worst | None) -> float | None:
    return None if found is None else found.share


def _comfort(topic: str) -> Callable[[BedFigures], str]:
    def word(found: BedFigures) -> str:
        return next(a.verdict for a in comfort(found.layout) if a.topic == topic)

    return word


_ALL = (
    Outcome("width", "overall width", "length", _overall(0)),
    Outcome("length", "overall length", "length", _overall(1)),
    Outcome("height", "overall height", "length", _overall(2)),
    Outcome("mattress_width", "mattress width", "length", _mattress("width")),
    Outcome("mattress_length", "mattress length", "length", _mattress("length")),
    Outcome("mattress_thickness", "mattress thickness", "length", _mattress("thickness")),
    Outcome("platform", "platform over the floor", "length", lambda f: f.layout.platform),
    Outcome(
        "mattress_top",
        "mattress top over the floor",
        "length",
        lambda f: f.layout.platform + f.layout.mattress.thickness,
    ),
    Outcome("under_bed", "clear under the bed", "length", lambda f: lowest_edge(f.layout)),
    Outcome("slats", "slats", "count", _slats),
    Outcome("slat_gap", "slat gap", "length", _slat_gap),
    Outcome(
        "feet",
        "feet of the centre rail",
        "count",
        lambda f: len(f.layout.centre_rail.feet) if f.layout.centre_rail else 0,
    ),
    Outcome("pieces", "wooden pieces", "count", lambda f: f.pieces),
    Outcome("kinds", "kinds of wooden part", "count", lambda f: f.kinds),
    Outcome("hardware", "metal pieces", "count", lambda f: f.hardware),
    Outcome(
        "finished_feet",
        "lumber in the finished parts",
        "board feet",
        lambda f: sum(row.net for row in f.buying.rows),
    ),
    Outcome(
        "rough_feet",
        "lumber in the rough parts",
        "board feet",
        lambda f: sum(row.rough for row in f.buying.rows),
    ),
    Outcome("board_feet", "lumber to buy", "board feet", lambda f: f.buying.gross),
    Outcome("cost", "cost of lumber", "money", lambda f: f.buying.cost),
    Outcome("mass", "mass without mattress", "kg", lambda f: f.mass_kg),
    Outcome("sag", "sag, share of allowed", "share", lambda f: _share(f.sag)),
    Outcome("sag_part", "sags most", "word", lambda f: "" if f.sag is None else f.sag.member),
    Outcome("stress", "stress, share of allowed", "share", lambda f: _share(f.stress)),
    Outcome("wobble", "headboard's top gives", "length", lambda f: f.wobble),
    Outcome("swing", "widest part, dry to damp", "length", lambda f: f.swing),
    Outcome("split_risk", "a board may split", "word", lambda f: f.split_risk),
    Outcome("sit_height", "sitting on the edge", "word", _comfort("sitting on the edge")),
    Outcome("joints", "joints' worst band", "word", lambda f: f.joint.band if f.joint else ""),
    Outcome(
        "joint_use",
        "worst joint, share of proposed",
        "share",
        lambda f: max((j.use for j in f.reckoned.joints if j.use is not None), default=None),
    ),
    Outcome("failed", "checks failed", "count", lambda f: len(f.failed)),
    Outcome("cautions", "cautions", "count", lambda f: len(f.cautions)),
)
OUTCOMES: Mapping[str, Outcome] = {outcome.name: outcome for outcome in _ALL}

_DIGITS: Mapping[Quantity, int] = {
    "length": 3,
    "count": 0,
    "board feet": 3,
    "kg": 3,
    "money": 2,
    "share": 4,
    "word": 0,
}


def outcomes(found: BedFigures) -> dict[str, float | int | str | None]:
    """Every named figure: mm, kg, board feet, shares; None for what is not known or has no end."""
    return {name: _rounded(outcome, found) for name, outcome in OUTCOMES.items()}


def _rounded(outcome: Outcome, found: BedFigures) -> float | int | str | None:
    value = outcome.of(found)
    if value is None or isinstance(value, str):
        return value
    if not math.isfinite(value):
        return None
    digits = _DIGITS[outcome.quantity]
    return round(value, digits) + 0.0 if digits else round(value)


def figures_record(found: BedFigures) -> dict[str, Any]:
    """One bed for other programs: the named figures, the lumber, and what the checks said."""
    sag, joint = found.sag, found.joint
    return {
        "sheet": found.sheet.design.name,
        "title": found.sheet.design.title,
        "size": found.size,
        **outcomes(found),
        "lumber": [
            {
                "species": row.species,
                "class": row.class_name,
                "rough_board_feet": round(row.rough, 3),
                "board_feet": round(row.gross, 3),
                "cost": None if row.cost is None else round(row.cost, 2),
            }
            for row in found.buying.rows
        ],
        "no_price": list(found.unpriced),
        "sags_most": None
        if sag is None
        else {
            "part": sag.member,
            "load": sag.load,
            "share": round(sag.share, 4),
            "sag": round(sag.value, 2),
            "limit": round(sag.limit, 2),
            "at": round(sag.x, 1),
        },
        "worst_joint": None
        if joint is None
        else {"joint": joint.joint, "against": joint.action, "band": joint.band},
        "joints_not_known": list(found.joints_unknown),
        "tips": found.reckoned.tips,
        "checks": [
            {
                "code": int(result.code),
                "name": result.code.name,
                "tested": result.tested,
                "passed": result.passed,
                "cautions": [caution.told for caution in result.cautions],
            }
            for result in found.results
        ],
    }
