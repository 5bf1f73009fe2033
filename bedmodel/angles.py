"""Angles and true lengths where stance, splay and rake meet; pure functions.

Bed frame: X across, Y from head to foot, Z up. Angles are in degrees, and names
that hold one end in ``_deg``; lengths are in mm. All formulas are the plain ones
of solid geometry; each docstring names its own.

    stance  the head end is wider than the foot end: the side rails are yawed
    yaw     of a side rail: its angle from Y, seen from above
    splay   of a leg: out of plumb across the bed (in XZ), foot out to +X
    rake    of a head end or a leg: out of plumb along the bed (in YZ), top leaning
            back to -Y, foot out to +Y
    mitre   of a cut: its line's angle from square, on the face it is laid out on
    tilt    of a cut: the blade's angle from square to that face

Splay and rake are the angles seen from the foot and from the side of the bed.
All that leans may lean the other way: the angle is then negative. Each function
says what a positive result means on the right-hand side of the bed (+X); the
left-hand part is its mirror image.

Every refusal is a ``ValueError`` whose text is a short phrase.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from bedmodel.units import (
    MM_PER_INCH,
    LengthUnit,
    format_angle,
    format_both,
    format_length,
    format_number,
)

Turn = Literal["square", "clockwise", "anticlockwise"]

# Below this nobody can set a saw by its scale, but can by a shim.
SHIM_BELOW_DEG = 1.0
# An end out of square by less than this closes under the clamp.
BARELY = 0.05

_RUN_TOLD: dict[LengthUnit, float] = {"mm": 300.0, "inch": 12 * MM_PER_INCH}


@dataclass(frozen=True)
class CutSetting:
    """One saw cut: ``mitre_deg`` on the face that lies on the table, blade at ``tilt_deg``.

    Both are 0 for a square cut.
    """

    mitre_deg: float
    tilt_deg: float


@dataclass(frozen=True)
class GaugeSetting:
    """A mitre gauge that reads 90 when square: what it reads and which way it is turned.

    The turn is that of the gauge's head, seen from above.
    """

    reading_deg: float
    turn: Turn

    @property
    def text(self) -> str:
        """Say the setting: "85.02 deg, turned clockwise"."""
        reading = format_angle(self.reading_deg)
        return reading if self.turn == "square" else f"{reading}, turned {self.turn}"


# --- side rails --------------------------------------------------------------------------


def side_rail_yaw_deg(head_width: float, foot_width: float, length: float) -> float:
    """Return the angle of a side rail from the bed's length, seen from above.

             head_width
        +-----------------+      Y = 0
         \\       |       /
          \\      |length/ <- rail; yaw is its angle from Y
           \\     |     /
            +---------+          Y = length
             foot_width

    Right triangle: yaw = atan((head_width - foot_width) / (2 length)). Widths are
    between the rails' inside faces, in mm; positive when the head is the wider.

    Raises ValueError unless all three are finite and over 0.
    """
    run, out = _rail_sides(head_width, foot_width, length)
    return math.degrees(math.atan2(out, run))


def side_rail_length(head_width: float, foot_width: float, length: float) -> float:
    """Return the true length (mm) of a yawed side rail along its inside face.

    Pythagoras: sqrt(length^2 + ((head_width - foot_width) / 2)^2), for ends at
    Y = 0 and Y = length, whose two cuts are parallel. Arguments as for
    ``side_rail_yaw_deg``.

    Raises ValueError unless all three are finite and over 0.
    """
    return math.hypot(*_rail_sides(head_width, foot_width, length))


def rail_end_cut(yaw_deg: float, rake_deg: float) -> CutSetting:
    """Return the cut of a rail's end against an end of the bed that leans back.

        show face of the right-hand rail      from above
                                              Y = 0
        +----------------   Z                   |    _.-'  inside face
         \\ |               |                    |_.-'   _.-'
          \\| mitre         +--> Y               |   _.-'   show face
           +-------------                       |_.-' tilt: the end from square
                                                X

    The end lies in the plane through X and (0, -sin rake, cos rake); the rail runs
    along (-sin yaw, cos yaw, 0), its wide faces plumb. Line in which two planes
    meet, and angle between a plane and a plane's normal:

        mitre = atan(tan rake / cos yaw)      tilt = asin(sin yaw cos rake)

    Positive mitre: at the head the rail's top edge is the longer. Positive tilt: the
    show face is the longer at the head, the shorter at the foot. An end that stands
    plumb has rake 0: mitre 0, tilt = yaw.

    Raises ValueError unless both are over -90 and under 90.
    """
    yaw, rake = _lean("yaw_deg", yaw_deg), _lean("rake_deg", rake_deg)
    return CutSetting(
        mitre_deg=math.degrees(math.atan(math.tan(rake) / math.cos(yaw))),
        tilt_deg=math.degrees(math.asin(math.sin(yaw) * math.cos(rake))),
    )


# --- legs --------------------------------------------------------------------------------


def leg_resultant_deg(splay_deg: float, rake_deg: float) -> float:
    """Return how far a leg that is splayed and raked stands out of plumb in all.

        seen from above         seen square to the sight line
          top                        top
           o---> Y                    |\\
           |\\                         | \\ leg
           | \\ sight line             |  \\
           v  \\                       |res\\
           X   o foot                 |    o foot

    Leg along (tan splay, tan rake, -1): resultant = atan sqrt(tan^2 splay + tan^2 rake).

    Raises ValueError unless both are over -90 and under 90.
    """
    across, along = _foot_out(splay_deg, rake_deg)
    return math.degrees(math.atan(math.hypot(across, along)))


def sight_line_deg(splay_deg: float, rake_deg: float) -> float:
    """Return the direction in plan in which a leg's foot stands out, from Y towards X.

    Direction of a vector in plan: atan(tan splay / tan rake), taken to the right
    quarter: 0 for rake alone, 90 for splay alone, over 90 when the foot is out
    towards -Y, negative when it is out towards -X. Sketch at ``leg_resultant_deg``.

    Raises ValueError unless both are over -90 and under 90, or when the leg is plumb
    and so leans nowhere.
    """
    across, along = _foot_out(splay_deg, rake_deg)
    if across == 0 and along == 0:
        raise ValueError("a plumb leg has no sight line: give splay_deg or rake_deg")
    return math.degrees(math.atan2(across, along))


def leg_length(height: float, splay_deg: float, rake_deg: float) -> float:
    """Return the true length (mm) of a leg between two level planes ``height`` mm apart.

    Pythagoras in space: height sqrt(1 + tan^2 splay + tan^2 rake).

    Raises ValueError unless the height is finite and over 0 and both angles are over
    -90 and under 90.
    """
    _positive("height", height)
    across, along = _foot_out(splay_deg, rake_deg)
    return height * math.hypot(1.0, across, along)


def leg_level_cut(splay_deg: float, rake_deg: float) -> CutSetting:
    """Return the cut that makes top and foot of a square leg level, front face on the table.

        front face          side face
          ______              ______
          \\     \\             \\     \\      The front face holds X and the leg's
           \\     \\             \\     \\     line; the side face is square to it.
        ----\\_____\\---- X   ----\\_____\\---- Y
             mitre                tilt

    Line in which a level plane meets the front face, and the angle between the two:

        mitre = atan(tan splay cos rake)      tilt = rake

    At the foot, positive mitre: the outer corner (+X) is the longer; positive tilt:
    the face towards the foot of the bed (+Y) is the longer. At the top, the shorter.

    Raises ValueError unless both are over -90 and under 90.
    """
    splay, rake = _lean("splay_deg", splay_deg), _lean("rake_deg", rake_deg)
    mitre = math.atan(math.tan(splay) * math.cos(rake))
    return CutSetting(mitre_deg=math.degrees(mitre), tilt_deg=rake_deg)


def side_face_twist_deg(splay_deg: float, rake_deg: float) -> float:
    """Return how far the side face of a splayed and raked square leg is turned in plan.

        from above, cut level
              ______
             /     /  side face: followed      Y
            /     /   towards +Y it drifts     |
           +-----+    to +X                    +--> X

    Line in which the side face meets a level plane, against Y:
    twist = atan(tan splay sin rake cos rake). It is added to the end cut of a rail or
    board that meets this face. The front face is not turned: it holds X.

    Raises ValueError unless both are over -90 and under 90.
    """
    splay, rake = _lean("splay_deg", splay_deg), _lean("rake_deg", rake_deg)
    return math.degrees(math.atan(math.tan(splay) * math.sin(rake) * math.cos(rake)))


def caul_deg(splay_deg: float, rake_deg: float = 0.0) -> float:
    """Return the angle of the wedge that makes a splayed leg's outer edge square to a clamp.

        caul leg                leg caul
        +---+---+              +---+---+
        |  /    |              |    \\  |
     -> |  |    |    board     |    |  | <- clamp, along X
        | /     |              |     \\ |
        |/______|              |______\\|

    Angle between the outer face's normal and X: atan(tan splay cos rake). One caul
    on each leg; the two clamp faces are then plumb and parallel. It tapers along the
    leg, thick end up where the foot is out. A leg splayed within an end that leans as
    a whole is the case of rake 0: give the splay in its own plane.

    Raises ValueError unless both are over -90 and under 90.
    """
    return leg_level_cut(splay_deg, rake_deg).mitre_deg


# --- frames of sloping sides -------------------------------------------------------------


def compound_mitre(side_count: int, slope_deg: float) -> CutSetting:
    """Return the cut at both ends of each side of a regular frame with sloping sides.

        section            wide face of one side
               /             _____________
              / side        /|           |\\      slope from level: 0 flat as a
             /             / |           | \\     picture frame, 90 upright as a box
        ____/ slope       /__|___________|__\\
                         mitre

    With h = 180 / side_count, half the turn of a corner:

        mitre = atan(tan h cos slope)      tilt = asin(sin h sin slope)

    mitre from square on the wide face, tilt from square to it.

    Raises ValueError unless there are 3 sides or more and the slope is 0 to 90.
    """
    if side_count < 3:
        raise ValueError(f"side_count must be at least 3, not {side_count}")
    if not 0 <= slope_deg <= 90:
        raise ValueError(f"slope_deg must be 0 to 90, not {slope_deg:g}")
    half, slope = math.pi / side_count, math.radians(slope_deg)
    return CutSetting(
        mitre_deg=math.degrees(math.atan(math.tan(half) * math.cos(slope))),
        tilt_deg=math.degrees(math.asin(math.sin(half) * math.sin(slope))),
    )


# --- setting an angle --------------------------------------------------------------------


def offset_over(thickness: float, angle_deg: float) -> float:
    """Return how far (mm) a cut runs out of square over a thickness (mm).

        |<--- thickness --->|
        +-------------------+ --
        |              ...''|  offset
        |     ...'''        |
        +'''----------------+ --
         angle

    Right triangle: offset = thickness tan(angle). It is also the rise over a run and
    the foot's place out from under the top over a height. It has the angle's sign.

    Raises ValueError unless the thickness is finite and over 0 and the angle over -90
    and under 90.
    """
    _positive("thickness", thickness)
    return thickness * math.tan(_lean("angle_deg", angle_deg))


def run_per_rise(angle_deg: float) -> float:
    """Return the run for a rise of 1: 1 / tan(angle), as 13.46 in "1 : 13.46".

    Raises ValueError unless the angle is over 0 and under 90.
    """
    if not 0 < angle_deg < 90:
        raise ValueError(f"angle_deg must be over 0 and under 90, not {angle_deg:g}")
    return 1 / math.tan(math.radians(angle_deg))


def slope_text(angle_deg: float, unit: LengthUnit) -> str:
    """Say an angle as rise over run: "1 : 13.46, 22.3 mm per 300 mm".

    In inches the rise is over 12 in. Formulas at ``run_per_rise`` and ``offset_over``.

    Raises ValueError unless the angle is over 0 and under 90.
    """
    ratio, run = run_per_rise(angle_deg), _RUN_TOLD[unit]
    rise = offset_over(run, angle_deg)
    told_ratio = format_number(ratio, "mm", decimals=2)
    return f"1 : {told_ratio}, {format_length(rise, unit)} per {format_length(run, unit)}"


def gauge_setting(cut_deg: float) -> GaugeSetting:
    """Return the mitre gauge's setting for a cut laid out ``cut_deg`` off square.

        from above, you at the bottom of the page; cut_deg is positive

            \\  cut line, anticlockwise      __    gauge turned clockwise:
        +----\\-----------+                 |  ''..    its right end comes
        |     \\   work   |             blade|      ''  towards you, and the
        +------\\---------+                 |           cut line comes true

    Complementary angle: the gauge reads 90 - |cut_deg|, and turns against the line:
    clockwise for a line that is anticlockwise (positive) of square on the face that
    lies up. A gauge that reads 0 when square is set to |cut_deg| itself.

    Raises ValueError unless the angle is over -90 and under 90.
    """
    _lean("cut_deg", cut_deg)
    turn: Turn = "clockwise" if cut_deg > 0 else "anticlockwise" if cut_deg < 0 else "square"
    return GaugeSetting(reading_deg=90 - abs(cut_deg), turn=turn)


def told(angle_deg: float, thickness: float, unit: LengthUnit) -> str:
    """Say an angle so that it can be set: "0.4 mm over 27 mm (0.83 deg): set it with ...".

    From one degree up it is the angle alone. Below, no saw can be set by its scale,
    so the offset over the part's thickness (mm) comes first; in inches it stands in
    both units, since 1/64 in is coarse here. What closes under the clamp is "square".
    The sign is dropped.

    Raises ValueError unless the thickness is finite and over 0 and the angle over -90
    and under 90.
    """
    offset = abs(offset_over(thickness, angle_deg))
    angle = format_angle(abs(angle_deg))
    if abs(angle_deg) >= SHIM_BELOW_DEG:
        return angle
    over = format_length(thickness, unit)
    if offset >= BARELY:
        return f"{_small(offset, unit)} over {over} ({angle}): set it with a square and a shim"
    return "square" if angle == format_angle(0.0) else f"square ({angle})"


def _small(offset: float, unit: LengthUnit) -> str:
    """An offset of ``BARELY`` or more, in inches on the coarsest rule that shows it at all."""
    if unit == "mm":
        return format_length(offset, unit)
    rules = (64, 128, 256)
    shows = (rule for rule in rules if format_number(offset, unit, denominator=rule) != "0")
    return format_both(offset, unit, denominator=next(shows))


# --- what may be asked -------------------------------------------------------------------


def _rail_sides(head_width: float, foot_width: float, length: float) -> tuple[float, float]:
    """The rail's run along Y and how far its head end stands out from its foot end."""
    _positive("head_width", head_width)
    _positive("foot_width", foot_width)
    _positive("length", length)
    return length, (head_width - foot_width) / 2


def _foot_out(splay_deg: float, rake_deg: float) -> tuple[float, float]:
    """How far a leg's foot is out along X and along Y for a height of 1."""
    return math.tan(_lean("splay_deg", splay_deg)), math.tan(_lean("rake_deg", rake_deg))


def _lean(name: str, angle_deg: float) -> float:
    """The angle in radians."""
    if not -90 < angle_deg < 90:
        raise ValueError(f"{name} must be over -90 and under 90, not {angle_deg:g}")
    return math.radians(angle_deg)


def _positive(name: str, length: float) -> None:
    if not (math.isfinite(length) and length > 0):
        raise ValueError(f"{name} must be finite and over 0, not {length:g}")
