"""Setting out of a board that has tenons of its own, and of slots for dry dowels.

    end       shoulder line                    shoulder line       end
     |  tenon |                                      |             |
     |  +-----+--------------------------------------+-----+       |
     |  |     |                                      |     |       |
     |--|---->|  from the end                        |
     |        |<----- shoulder to shoulder --------->|

haunch end and tenon end are told from the shoulder line, which is knifed all round
first; cheeks from the inside face, edges from the lower edge. All values come from
the layout; mm, and the sheet's unit as shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bedmodel.end_plan import BoardPlan, EndPlan, board_name
from bedmodel.joints import TenonJoint, board_joints
from bedmodel.shop.marks import Mark, in_order, merged
from bedmodel.shop.story_stick import board_heights, setback_of, tenon_number
from bedmodel.skeleton import Layout

EVERY_TENON = "every tenon"

Row = tuple[str, tuple[Mark, ...]]  # the reference edge and the marks from it


def own_tenon_marks(
    layout: Layout, end: EndPlan, board: BoardPlan
) -> tuple[tuple[Row, ...], tuple[str, ...]]:
    """Return the rows of marks of a board with tenons of its own, and what to mind."""
    name = board_name(end, board)
    joints = [joint for joint in board_joints(layout) if joint.board == name]
    rows: tuple[Row, ...] = (
        ("from each end, along the board", _shoulders(layout, end, board)),
        ("from the shoulder line, out to the end", _lengths(layout, board)),
        ("from the lower edge, on both ends", tuple(board_heights(layout, end, board))),
        ("from the inside face, on both ends", _cheeks(layout, end, joints)),
    )
    return rows, (*_notes(board), *_glue_notes(layout, joints))


def _mark(layout: Layout, of: str, what: str, true: float) -> Mark:
    return Mark((of,) if of else (), what, true, layout.sheet.design.unit)


def _shoulders(layout: Layout, end: EndPlan, board: BoardPlan) -> tuple[Mark, ...]:
    tenon, body = board.tenons.embedment_leg, 2 * end.joint_x
    return (
        _mark(layout, "", "near shoulder line", tenon),
        _mark(layout, "", "far shoulder line", tenon + body),
        _mark(layout, "", "far end", tenon + body + tenon),
    )


def _lengths(layout: Layout, board: BoardPlan) -> tuple[Mark, ...]:
    plan = board.tenons
    marks = [_mark(layout, "", "tenon end", plan.embedment_leg)]
    if plan.haunches:
        marks.append(_mark(layout, "", "haunch end", plan.haunch))
    return tuple(in_order(marks))


def _cheeks(layout: Layout, end: EndPlan, joints: Iterable[TenonJoint]) -> tuple[Mark, ...]:
    marks = []
    for joint in joints:
        middle, half = setback_of(joint) - end.reveal, joint.plan.thickness / 2
        marks.append(_mark(layout, tenon_number(joint), "near cheek", middle - half))
        marks.append(_mark(layout, tenon_number(joint), "far cheek", middle + half))
    return tuple(merged(marks, EVERY_TENON))


def _notes(board: BoardPlan) -> tuple[str, ...]:
    plan = board.tenons
    ends = (
        "round their narrow edges, or chisel the mortises' ends square"
        if plan.ends == "round"
        else "their narrow edges are square, as the mortises' ends are"
    )
    return (
        "knife the shoulder lines round all four faces, both from one end; the length from "
        "shoulder to shoulder is what the bed's width hangs on",
        "mark both ends from the same lower edge and the same inside face; the two ends are then "
        "mirrored, not turned",
        "cut the tenons to the mortises as they came out, with a gap of "
        f"{plan.cheek_clearance:g} mm at each cheek; {ends}",
    )


def _glue_notes(layout: Layout, joints: Sequence[TenonJoint]) -> tuple[str, ...]:
    """Where the board is glued: a wide one is held in one zone only, so that it can move."""
    dry = [joint for joint in joints if not joint.is_glued]
    if not dry:
        return ("glue it in both legs",)
    glued = [tenon_number(joint) for joint in joints if joint.is_glued and not joint.is_haunch]
    most = layout.sheet.show(max(joint.slack for joint in dry))
    rest = ", ".join(tenon_number(joint) for joint in dry)
    return (
        f"glue {' and '.join(glued)} in the legs; dry, with up to {most} to slide up and down: "
        f"{rest}",
    )


def slot_notes(joints: Iterable[TenonJoint]) -> tuple[str, ...]:
    """What to mind of the slots that let dry dowels slide."""
    if any(joint.plan.is_dowel and not joint.is_glued for joint in joints):
        return (
            "holes for dry dowels are slots in the legs: drill both ends of each through the jig "
            "and clear the wood between",
        )
    return ()
