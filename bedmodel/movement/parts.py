"""What every wide part of a bed does in its climate, and what it does to the fit.

Travel is in mm from the size as made: ``dry`` at the driest (negative: narrower), ``damp``
at the dampest. Boards of mixed pieces are taken as flat-sawn, which is on the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass

from bedmodel.climates import Climate
from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.ends.record import PanelPlan
from bedmodel.figures import assumptions
from bedmodel.hardware import Hooked
from bedmodel.moisture import FIBRE_SATURATION, Swelling, swelling
from bedmodel.movement.rules import MOVEMENT_FILE, MovementRules, movement_rules_of
from bedmodel.movement.splitting import Splitting, splitting
from bedmodel.screws import screw
from bedmodel.skeleton import Layout
from bedmodel.tables import Wood

FLAT_SAWN_DEG = 90.0


@dataclass(frozen=True)
class PartMovement:
    """One part: its width as made, and how that changes (mm); ``species`` it is of."""

    part: str
    what: str
    species: str
    size: float
    dry: float
    damp: float

    @property
    def swing(self) -> float:
        return self.damp - self.dry


@dataclass(frozen=True)
class TenonSlack:
    """One dry tenon of a board: slack its mortise has at each end, and what it needs (mm)."""

    board: str
    number: int
    has: float
    needs: float

    @property
    def enough(self) -> bool:
        return self.has >= self.needs - 1e-9


@dataclass(frozen=True)
class BoardFixing:
    """How a board of an end is held: glued height, risk of splitting, slack of dry tenons."""

    board: str
    glued_height: float
    glued_most: float
    splitting: Splitting
    tenons: tuple[TenonSlack, ...]

    @property
    def passed(self) -> bool:
        return self.splitting.risk != "high" and all(t.enough for t in self.tenons)


@dataclass(frozen=True)
class PanelRoom:
    """A floating panel's edge across its grain (mm): room to swell, depth in its groove.

    ``swells`` and ``shrinks`` are what one edge moves at the dampest and at the driest.
    """

    panel: str
    room: float
    depth: float
    swells: float
    shrinks: float
    least: float

    @property
    def spare(self) -> float:
        """What is left of room or depth, whichever is less; below 0 it is too little."""
        return min(self.room - self.swells, self.depth - self.shrinks - self.least)

    @property
    def passed(self) -> bool:
        return self.spare >= -1e-9


@dataclass(frozen=True)
class Effect:
    """What movement does to a fit: change at the driest and dampest (mm), and in words."""

    what: str
    dry: float
    damp: float
    meaning: str


@dataclass(frozen=True)
class Slot:
    """A screw across the grain, ``away`` from where the part is held: its travel, its slot (mm).

    ``screw`` is the shank's diameter; a plain hole lets the screw bend or the wood give.
    """

    where: str
    away: float
    travel: float
    screw: float
    length: float


@dataclass(frozen=True)
class Movement:
    """A whole bed in one climate."""

    climate: Climate
    made_moisture: float
    parts: tuple[PartMovement, ...]
    fixings: tuple[BoardFixing, ...]
    effects: tuple[Effect, ...]
    slots: tuple[Slot, ...]
    assumptions: tuple[str, ...]
    panels: tuple[PanelRoom, ...] = ()

    @property
    def passed(self) -> bool:
        return all(f.passed for f in self.fixings) and all(p.passed for p in self.panels)


def movement(
    layout: Layout,
    climate: Climate | None = None,
    rules: MovementRules | None = None,
    *,
    ring_angle_deg: float = FLAT_SAWN_DEG,
) -> Movement:
    """Reckon every wide part, the fixings of the boards, and what it does to the fit."""
    climate = climate or layout.sheet.climate.chosen
    rules = rules or movement_rules_of(layout.sheet)
    reckoning = _Reckoning(layout, climate, rules, ring_angle_deg)
    lines = (
        *assumptions(rules, MOVEMENT_FILE),
        f"climate {climate.label}: {climate.low:g} to {climate.high:g} % ({climate.source})"
        f"{'' if climate.status == 'confirmed' else f' [{climate.status}]'}",
        "boards taken as flat-sawn" if ring_angle_deg == FLAT_SAWN_DEG else
        f"rings at {ring_angle_deg:g} degrees to the width",
        "in service wood reaches the air's moisture slowly, and finish slows it more",
    )  # fmt: skip
    return Movement(
        climate,
        rules.made_moisture,
        tuple(reckoning.parts()),
        tuple(reckoning.fixing(end, board) for end in layout.ends for board in end.boards),
        tuple(reckoning.effects()),
        tuple(reckoning.slots()),
        lines,
        tuple(reckoning.panels()),
    )


def slot_length(
    screw: float,
    from_fixed: float,
    timber: Wood,
    climate: Climate,
    rules: MovementRules,
) -> float:
    """Length of the slot for a screw ``from_fixed`` mm from where a flat-sawn board is held."""
    of, made = swelling(timber), rules.made_moisture
    ends = (climate.low, climate.high)
    travel = max(abs(of.change(from_fixed, made, end)) for end in ends)
    return screw + 2 * rules.screw_clearance + 2 * travel


def _across(plan: PanelPlan) -> float:
    """The widest panel's size across its grain, tongues counted in (mm)."""
    widest = max(plan.openings, key=lambda opening: opening[1] - opening[0])
    wide, high = plan.size(widest)
    return high if plan.grain == "horizontal" else wide


@dataclass(frozen=True)
class _Reckoning:
    """One bed in one climate; local to ``movement``."""

    layout: Layout
    climate: Climate
    rules: MovementRules
    ring_angle_deg: float

    def parts(self) -> list[PartMovement]:
        layout, sheet = self.layout, self.layout.sheet
        bed = sheet.bed_wood
        inside = sheet.inside_wood
        found = [
            self._part(board_name(end, board), "width", bed, board.width)
            for end in layout.ends
            for board in end.boards
        ]
        found += [
            self._part("side_rail", "width", bed, sheet.side_rail.width),
            self._part("leg", "width at the rail", bed, layout.legs.width_at(layout.rail_top)),
        ]
        for end in layout.ends:
            for plan in end.fills:
                if isinstance(plan, PanelPlan):
                    name, size = f"{end.end}board_floating_panel", _across(plan)
                    found.append(self._part(name, "across the grain", bed, size))
            if end.cap is not None:
                found.append(self._part(f"{end.end}board_cap", "width", bed, end.cap.width))
        if layout.has_slats:
            found.append(self._part("slat", "width", inside, layout.slats.width))
        if layout.centre_rail:
            found.append(self._part("centre_rail", "height", inside, layout.centre_rail.height))
        return found

    def _part(self, name: str, what: str, timber: Wood, size: float) -> PartMovement:
        dry, damp = self._ends(timber, size)
        return PartMovement(name, what, timber.name, size, dry, damp)

    def _ends(self, timber: Wood, size: float) -> tuple[float, float]:
        of, made = swelling(timber, self.ring_angle_deg), self.rules.made_moisture
        return of.change(size, made, self.climate.low), of.change(size, made, self.climate.high)

    def fixing(self, end: EndPlan, board: BoardPlan) -> BoardFixing:
        """The glued tenons span a height; the others slide from the nearest glued one."""
        plan, name = board.tenons, board_name(end, board)
        timber = self.layout.sheet.bed_wood
        glued = [h for h in plan.heights if plan.slack_at(h) == 0]
        height = max(glued) - min(glued) + plan.width
        tenons = []
        for number, place in enumerate(plan.heights, 1):
            if place in glued:
                continue
            reach = min(abs(place - h) for h in glued)
            needs = max(abs(end) for end in self._ends(timber, reach))
            tenons.append(TenonSlack(name, number, plan.slack_at(place), needs))
        made, low = self.rules.made_moisture, self.climate.low
        risk = splitting(timber, min(height, board.width), made, low, self.rules)
        most = self.layout.sheet.tenon.glued_most
        return BoardFixing(name, height, most, risk, tuple(tenons))

    def panels(self) -> list[PanelRoom]:
        """Every opening's panels, the widest of each: held in the middle, both edges move."""
        found = []
        for end in self.layout.ends:
            for plan in end.fills:
                if not isinstance(plan, PanelPlan):
                    continue
                dry, damp = self._ends(self.layout.sheet.bed_wood, _across(plan) / 2)
                found.append(
                    PanelRoom(
                        f"{end.end}board_floating_panel",
                        plan.room,
                        plan.groove_depth - plan.room,
                        max(0.0, damp),
                        max(0.0, -dry),
                        plan.engaged_least,
                    )
                )
        return found

    def effects(self) -> list[Effect]:
        layout, sheet = self.layout, self.layout.sheet
        bed = sheet.bed_wood
        slats = sheet.inside_wood
        row = layout.slats
        swell = [row.count * each / (row.count + 1) for each in self._ends(slats, row.width)]
        gaps = Effect("slat gaps", -swell[0], -swell[1], "gaps open in dry air, close in damp")
        return [
            *((gaps,) if layout.has_slats else ()),
            *self._pocket(),
            *self._flush(bed),
            *self._rail(bed),
            *self._fastener(bed),
        ]

    def _rail(self, bed: Wood) -> list[Effect]:
        """Where the rail's edges and the platform go to, from the fastener's middle."""
        layout = self.layout
        middle = (layout.rail_top + layout.rail_bottom) / 2
        if layout.fastener is not None:
            middle = layout.fastener.height
        meaning = "from the fastener's middle, which the leg holds: plus is up"
        return [
            Effect("rail's top edge", *self._ends(bed, layout.rail_top - middle), meaning),
            Effect("runners and slats", *self._ends(bed, layout.runner_top - middle), meaning),
        ]

    def _fastener(self, bed: Wood) -> list[Effect]:
        plan = self.layout.fastener
        if plan is None:
            return []
        if isinstance(plan.row, Hooked):
            dry, damp = self._ends(bed, plan.row.screw_pitch)
            return [
                Effect(
                    "rail between the plate's outer screws",
                    dry,
                    damp,
                    "the plate does not give: tap the rail down and try its screws after the "
                    "first dry season",
                )
            ]
        dry, damp = self._ends(bed, self.layout.sheet.leg.thickness)
        return [
            Effect(
                "leg under the bolt's head",
                dry,
                damp,
                "minus loosens the bolt, plus crushes under its washer: tighten after the first "
                "dry season",
            )
        ]

    def slots(self) -> list[Slot]:
        """What is screwed across the grain: all else runs with it and needs no slot."""
        plan = self.layout.fastener
        if plan is None or not isinstance(plan.row, Hooked):
            return []
        away = plan.row.screw_pitch / 2
        bed, shank = self.layout.sheet.bed_wood, screw(plan.row.screw_gauge).shank
        long = slot_length(shank, away, bed, self.climate, self.rules)
        dry, damp = self._ends(bed, away)
        name = f"outer screws of the {plan.kind[:-1].replace('_', ' ')} in the rail"
        return [Slot(name, away, max(abs(dry), abs(damp)), shank, long)]

    def _pocket(self) -> list[Effect]:
        """Along the grain wood hardly moves: boards and rails keep the pocket."""
        share = self.rules.along_share / FIBRE_SATURATION
        made = self.rules.made_moisture
        ends = [(end - made) * share for end in (self.climate.low, self.climate.high)]
        layout = self.layout
        width, length = 2 * layout.half_foot, layout.pocket_length
        meaning = "along the grain wood hardly moves; the clearance takes it up"
        return [
            Effect("width of the pocket", width * ends[0], width * ends[1], meaning),
            Effect("length of the pocket", length * ends[0], length * ends[1], meaning),
        ]

    def _flush(self, bed: Wood) -> list[Effect]:
        """A board's inside face against the legs', from the tenon's middle to each.

        At worst the board moves as flat-sawn and the leg as quarter-sawn, or the other
        way round.
        """
        flat, quarter = swelling(bed), swelling(bed, 0.0)
        found = []
        for end in self.layout.ends:
            board = end.boards[0]
            sizes = (board.tenons.setback, board.thickness / 2)
            dry, damp = (
                max(
                    self._step(sizes, flat, quarter, moisture),
                    self._step(sizes, quarter, flat, moisture),
                    key=abs,
                )
                for moisture in (self.climate.low, self.climate.high)
            )
            found.append(
                Effect(
                    f"{end.end}board's inside face against its legs'",
                    dry,
                    damp,
                    "plus: the legs' faces stand further out",
                )
            )
        return found

    def _step(
        self, sizes: tuple[float, float], leg: Swelling, board: Swelling, moisture: float
    ) -> float:
        made = self.rules.made_moisture
        return leg.change(sizes[0], made, moisture) - board.change(sizes[1], made, moisture)
