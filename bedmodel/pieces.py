"""All pieces of a bed: drafts, mortises and tenons, mirror images; equal shapes made one kind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from bedmodel.bed import Kind, Piece
from bedmodel.cuts import Boss, Cut
from bedmodel.edge_profiles import with_profiles
from bedmodel.end_joints import CapJoint, FillJoints
from bedmodel.frames import Frame
from bedmodel.joints import TenonJoint, board_joints
from bedmodel.materials import is_metal
from bedmodel.parts import GROUPS, PARTS
from bedmodel.parts.draft import Draft
from bedmodel.rail_joints import loose_pieces, with_fasteners
from bedmodel.screw_joints import screw_joints, with_screws
from bedmodel.shape import Shape, mirror_pair
from bedmodel.skeleton import Layout


@dataclass(frozen=True)
class _Placed:
    """A piece whose kind has no final name yet."""

    name: str
    base: str
    hand: str
    group: str
    shape: Shape
    placement: Frame
    species: str


def make_pieces(layout: Layout) -> tuple[Piece, ...]:
    """Every piece of the bed, sorted by sub-assembly, each of its kind."""
    joints, fills = list(board_joints(layout)), FillJoints.of(layout)
    drafts = [draft for make in PARTS for draft in make(layout)]
    screws = list(screw_joints(layout))
    cut = [
        with_screws(with_fasteners(_with_joints(draft, joints, fills), layout), screws)
        for draft in drafts
    ]
    cut = [with_profiles(draft, layout) for draft in cut]
    cut += [_tenon_draft(joint, layout) for joint in joints if not joint.plan.integral]
    cut += [_cap_dowel(joint, layout) for joint in fills.caps]
    cut += loose_pieces(layout)
    placed = [p for draft in cut for p in _both_hands(draft)]
    placed.sort(key=lambda p: GROUPS.index(p.group))
    return tuple(_of_kinds(placed))


def _with_joints(draft: Draft, joints: Iterable[TenonJoint], fills: FillJoints) -> Draft:
    """The draft with its mortises, and with the tenons that are its own."""
    cuts: list[Cut] = []
    bosses: list[Boss] = []
    for joint in joints:
        if joint.leg == draft.name:
            cuts.append(joint.cut_in_leg(draft.placement))
        if joint.board != draft.name:
            continue
        if joint.plan.integral:
            bosses += joint.bosses(draft.placement)
        else:
            cuts.append(joint.cut_in_board(draft.placement))
            cuts.append(joint.cut_in_board_left(draft.placement))
    shape = replace(draft.shape.with_cuts(tuple(cuts)), bosses=(*draft.shape.bosses, *bosses))
    return replace(draft, shape=fills.filled(draft.name, shape, draft.placement))


def _tenon_draft(joint: TenonJoint, layout: Layout) -> Draft:
    shape, placement = joint.tenon()
    return Draft(
        joint.name,
        joint.plan.stem,
        joint.group,
        "right",
        shape,
        placement,
        layout.sheet.wood.species,
    )


def _cap_dowel(joint: CapJoint, layout: Layout) -> Draft:
    shape, placement = joint.dowel()
    species = layout.sheet.wood.species
    return Draft(joint.name, "dowel", joint.group, joint.side, shape, placement, species)


def _both_hands(draft: Draft) -> Iterator[_Placed]:
    if draft.side == "centre":
        yield _placed(draft, draft.name, "", draft.shape, draft.placement)
        return
    shape, placement = mirror_pair(draft.shape, draft.placement)
    # Metal comes as it is sold: a bracket is not of the side of the bed it hangs on.
    same = shape is draft.shape or is_metal(draft.species)
    yield _placed(draft, f"{draft.name}_left", "" if same else "left", shape, placement)
    yield _placed(
        draft, f"{draft.name}_right", "" if same else "right", draft.shape, draft.placement
    )


def _placed(draft: Draft, name: str, hand: str, shape: Shape, placement: Frame) -> _Placed:
    return _Placed(name, draft.kind, hand, draft.group, shape, placement, draft.species)


def _of_kinds(placed: list[_Placed]) -> Iterator[Piece]:
    """Give equal shapes of one name and species one kind, and each kind its name."""
    keys = [(p.base, p.hand, p.species, p.shape.key()) for p in placed]
    stems: dict[tuple[str, str], list[object]] = {}
    for key in keys:
        variants = stems.setdefault((key[0], key[1]), [])
        if key not in variants:
            variants.append(key)
    kinds: dict[object, Kind] = {}
    for p, key in zip(placed, keys, strict=True):
        if key not in kinds:
            variants = stems[(p.base, p.hand)]
            number = f"_{variants.index(key) + 1}" if len(variants) > 1 else ""
            hand = f"_{p.hand}" if p.hand else ""
            kinds[key] = Kind(f"{p.base}{number}{hand}", p.shape, p.species)
        yield Piece(p.name, kinds[key], p.group, p.placement)
