"""What is cut into a part or stands out of it, in groups of like ones, each with a short code.

code    M mortise or dowel hole, G groove of a haunch or a panel, R recess, P pocket, H hole,
        S screw hole, T tenon; with a number where a part has several kinds
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bedmodel.cuts import Boss, Cut
from bedmodel.drawing.directions import Look, Side
from bedmodel.frames import Frame, Vector, add, dot, scale
from bedmodel.shape import Shape

_CODES = {
    **{"mortise": "M", "haunch": "G", "groove": "G", "recess": "R", "pocket": "P"},
    **{"hole": "H", "pilot": "S"},
}
_UPRIGHT = re.compile(r"_(slat|spindle)(_\d+)?_\d\d_(lower|upper)$")
_OWNERS = (
    ("runner_screw", "runner screw"),
    ("cleat", "cleat screw"),
    ("_cap_dowel", "cap dowel"),
    ("batten_screw", "batten screw"),
    ("deck_screw", "deck screw"),
    ("airing", "airing"),
    ("slat", "slat screw"),
    ("fastener", "rail fastener"),
)
# what stands out of it
_METAL = (
    ("floating_panel", "tongue"),
    ("plate", "hook"),
    ("bolt", "shank"),
    ("screw", "shank"),
)
_ROUND = 4


@dataclass(frozen=True)
class Place:
    """One cut or tenon as laid out in the part frame."""

    item: Cut | Boss

    @property
    def frame(self) -> Frame:
        return self.item.frame

    @property
    def name(self) -> str:
        return "" if isinstance(self.item, Boss) else self.item.name

    @property
    def depth(self) -> float:
        return self.item.height if isinstance(self.item, Boss) else self.item.depth

    @property
    def outward(self) -> Vector:
        """The way its opening looks, or the tenon's end."""
        z = self.item.frame.z
        return z if isinstance(self.item, Boss) else scale(z, -1.0)

    @property
    def family(self) -> str:
        return "" if isinstance(self.item, Boss) else self.item.family

    def corners(self) -> list[Vector]:
        """The box of its outline, in its own plane, as points of the part frame."""
        item = self.item
        outline = item.outline if isinstance(item, Boss) else item.opening
        x0, y0, x1, y1 = outline.bounds()
        f = item.frame
        return [f.point((x, y, 0.0)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]

    @property
    def centre(self) -> Vector:
        a, _, b, _ = self.corners()
        return scale(add(a, b), 0.5)

    @property
    def spans(self) -> tuple[float, float]:
        """Its size along its own x and y."""
        item = self.item
        outline = item.outline if isinstance(item, Boss) else item.opening
        x0, y0, x1, y1 = outline.bounds()
        return x1 - x0, y1 - y0

    @property
    def is_round(self) -> bool:
        if isinstance(self.item, Boss):
            a, b = self.spans
            return abs(a - b) < 1e-6 and all(e.is_arc for e in self.item.outline.edges())
        return self.item.is_round

    @property
    def is_slot(self) -> bool:
        """True for what is marked by its ends and cheeks, not by its middle."""
        if isinstance(self.item, Boss):
            return True
        return self.item.role in ("mortise", "haunch") and not self.is_round


@dataclass(frozen=True)
class Feature:
    """Like cuts on one side of a part."""

    code: str
    what: str
    side: Side
    places: tuple[Place, ...]

    @property
    def first(self) -> Place:
        return self.places[0]


def features_of(shape: Shape, front: Look, kind: str = "") -> tuple[Feature, ...]:
    """The features of a shape, seen round a front view, in groups of equal size and side."""
    groups: dict[tuple[str, str, Side, tuple[float, ...]], list[Place]] = {}
    for item in (*shape.cuts, *shape.bosses):
        place = Place(item)
        side = front.side_of(place.outward)
        sizes = tuple(round(v, _ROUND) for v in (*place.spans, place.depth))
        key = (what_of(place, kind), letter_of(place), side, sizes)
        groups.setdefault(key, []).append(place)
    letters: dict[str, int] = {}
    kinds: dict[object, int] = {}
    for what, letter, side, sizes in groups:
        end = side in ("left", "right")
        kinds.setdefault((what, letter, "end" if end else side, sizes), 0)
    for _, letter, _, _ in kinds:  # type: ignore[misc]
        letters[letter] = letters.get(letter, 0) + 1
    codes: dict[object, str] = {}
    numbers: dict[str, int] = {}
    for kind_key in kinds:
        letter = kind_key[1]  # type: ignore[index]
        numbers[letter] = numbers.get(letter, 0) + 1
        codes[kind_key] = letter if letters[letter] == 1 else f"{letter}{numbers[letter]}"
    found = []
    for (what, letter, side, sizes), places in groups.items():
        end = side in ("left", "right")
        code = codes[(what, letter, "end" if end else side, sizes)]
        found.append(Feature(code, what, side, tuple(_in_order(places, front))))
    return tuple(found)


def _in_order(places: Sequence[Place], front: Look) -> list[Place]:
    return sorted(places, key=lambda p: tuple(round(v, 3) for v in front.flat(p.centre)))


def letter_of(place: Place) -> str:
    item = place.item
    if isinstance(item, Boss):
        return "T"
    return _CODES[item.role]


def what_of(place: Place, kind: str = "") -> str:
    """What it is, in the words of the trade."""
    item = place.item
    if isinstance(item, Boss):
        return next((word for of, word in _METAL if of in kind), "tenon")
    name = item.name
    if upright := _UPRIGHT.search(name):
        return f"{'hole' if item.is_round else 'mortise'} for {upright[1]}"
    if item.role == "groove":
        return "groove for the panel"
    if item.role == "mortise":
        word = "dowel hole" if item.is_round else "mortise"
        board = re.sub(r"_(tenon|dowel).*$", "", name).replace("_", " ")
        return word if not board or board == kind.replace("_", " ") else f"{word} for {board}"
    if item.role == "haunch":
        return "groove for the haunch"
    owner = next((words for mark, words in _OWNERS if mark in name), "")
    word = {"recess": "recess", "pocket": "pocket", "hole": "hole", "pilot": "pilot hole"}[
        item.role
    ]
    for ending in ("counterbore", "countersink", "clearance"):
        if name.endswith(ending):
            word = ending if ending != "clearance" else "clearance hole"
    return f"{word}, {owner}" if owner else word


def surface(place: Place, among: Sequence[Place]) -> float:
    """Where the wood's face lies that it is cut from, along its own outward direction."""
    out = place.outward
    kin = [
        other
        for other in among
        if other.family and other.family == place.family and dot(other.outward, out) > 0.999
    ]
    return max(dot(other.frame.origin, out) for other in (*kin, place))


def from_face(place: Place, among: Sequence[Place]) -> float:
    """How deep it is from the face of the wood, as a maker measures it (mm)."""
    level = surface(place, among)
    return place.depth + level - dot(place.frame.origin, place.outward)
