"""Slats and spindles between two rails of an end.

        ==============================  upper rail
         | |     | |     | |     | |       let in at both ends
         | |     | |     | |     | |
        ==============================  lower rail

A slat has a tenon at each end with shoulders all round, which hide a stopped mortise.
A spindle is a rod; where the rails are too thin for it whole, its ends are turned down to
pins. Common practice: wood of 4 mm and more left on both sides of the holes.
"""

from __future__ import annotations

import math

from bedmodel.end_spec import Uprights
from bedmodel.ends.gaps import Row, solve
from bedmodel.ends.record import Between, UprightPlan
from bedmodel.errors import InputError
from bedmodel.spec import Board, BoardEnd, Sheet

LEAST_PIN = 6.0
LEAST_TENON = 5.0  # a slat's tenon is at least so thick
SHORTEST = 60.0  # an opening lower than this is no place for uprights
EASED_SHARE = 0.45


def slats(
    sheet: Sheet, name: str, end: BoardEnd, rails: tuple[Board, Board], where: Between
) -> UprightPlan:
    """The slats of one opening. Raises InputError where none fit, or rails are too thin."""
    given, parameter = end.slats, f"{name}.slats"
    _check_opening(sheet, name, where)
    greatest = EASED_SHARE * min(given.width, given.thickness)
    if given.edge != "square" and given.edge_size > greatest:
        raise InputError(
            f"{parameter}.edge_size",
            sheet.show(given.edge_size),
            f"must be at most {sheet.at_most(greatest)} on the narrowest side",
            'make it less, the slats thicker, or edge "square"',
        )
    eased = given.edge_size if given.edge != "square" else 0.0
    shoulder = max(given.shoulder, eased)  # it must bear on a flat, not on the eased arris
    tenon = given.thickness - 2 * shoulder
    if tenon < LEAST_TENON:
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(given.thickness),
            f"leaves a tenon of {sheet.show(tenon)}, must be at least "
            f"{sheet.at_least(LEAST_TENON + 2 * shoulder)}",
            f"make it more, or {parameter}.shoulder and edge_size less",
        )
    most = _room(sheet, end, rails, given) - 2 * given.clearance
    if tenon > most + 1e-9 or given.thickness > min(r.thickness for r in rails) + 1e-9:
        most = min(most + 2 * shoulder, *(rail.thickness for rail in rails))
        raise InputError(
            f"{parameter}.thickness",
            sheet.show(given.thickness),
            f"too thick for the rails, must be at most {sheet.at_most(most)}",
            f"make it less, the rails thicker or {parameter}.wall_least less",
        )
    wide = given.width - 2 * shoulder
    _check_let_in(sheet, parameter, name, end, rails, given)
    row = solve(sheet, parameter, given, 2 * where.half, given.width, where.height)
    return UprightPlan(
        word="slat",
        where=where,
        middles=_middles(row, where.half, given.width),
        gap=row.gap,
        end_gap=row.end_gap,
        width=given.width,
        thickness=given.thickness,
        tenon_width=max(wide, tenon),
        tenon_thickness=tenon,
        let_in=given.let_in,
        clearance=given.clearance,
        end_room=given.end_room,
        wall_least=given.wall_least,
        ends=sheet.tenon.ends,
        edge=given.edge,
        edge_size=given.edge_size,
    )


def spindles(
    sheet: Sheet, name: str, end: BoardEnd, rails: tuple[Board, Board], where: Between
) -> UprightPlan:
    """The spindles of one opening. Raises InputError where none fit, or rails are too thin."""
    given, parameter = end.spindles, f"{name}.spindles"
    _check_opening(sheet, name, where)
    most = _room(sheet, end, rails, given) - 2 * given.clearance
    step = 25.4 / 16 if sheet.design.unit == "inch" else 1.0
    pin = given.pin
    if pin is None:
        pin = given.diameter
        if pin > most + 1e-9:
            pin = math.floor(most / step + 1e-9) * step
    if pin > most + 1e-9 or pin < LEAST_PIN:
        raise InputError(
            f"{parameter}.{'diameter' if given.pin is None else 'pin'}",
            sheet.show(given.diameter if given.pin is None else given.pin),
            f"the rails hold pins of at most {sheet.at_most(most)}, and they must be at least "
            f"{sheet.at_least(LEAST_PIN)}",
            f"make the rails thicker or {parameter}.wall_least less",
        )
    if pin > given.diameter + 1e-9:
        raise InputError(
            f"{parameter}.pin",
            sheet.show(pin),
            f"must be at most the diameter, {sheet.at_most(given.diameter)}",
            "make it less",
        )
    _check_let_in(sheet, parameter, name, end, rails, given)
    row = solve(sheet, parameter, given, 2 * where.half, given.diameter, where.height)
    return UprightPlan(
        word="spindle",
        where=where,
        middles=_middles(row, where.half, given.diameter),
        gap=row.gap,
        end_gap=row.end_gap,
        width=given.diameter,
        thickness=given.diameter,
        tenon_width=pin,
        tenon_thickness=pin,
        let_in=given.let_in,
        clearance=given.clearance,
        end_room=given.end_room,
        wall_least=given.wall_least,
        ends="round",
        edge="square",
        edge_size=0.0,
    )


def _middles(row: Row, half: float, width: float) -> tuple[float, ...]:
    first = -half + row.end_gap + width / 2
    # The right half mirrors the left to the last digit.
    left = [first + i * (row.gap + width) for i in range(row.count // 2)]
    middle = [0.0] if row.count % 2 else []
    return (*left, *middle, *(-x for x in reversed(left)))


def _room(sheet: Sheet, end: BoardEnd, rails: tuple[Board, Board], given: Uprights) -> float:
    """The thickest hole that both rails leave wood round; it stands at the thinner one's middle.

    Beside the opening an eased arris takes its share of the edge.
    """
    eased = end.edge_size if end.edge != "square" else 0.0
    thin = min(rail.thickness for rail in rails)
    return thin - 2 * (given.wall_least + eased)


def _check_opening(sheet: Sheet, name: str, where: Between) -> None:
    if where.height < SHORTEST:
        raise InputError(
            f"{name}.board.{where.upper + 1}.above_platform",
            f"{sheet.show(where.height)} above the rail below",
            f"leaves no room for uprights, must be at least {sheet.at_least(SHORTEST)} above it",
            "raise it, or make a rail narrower",
        )


def _check_let_in(
    sheet: Sheet,
    parameter: str,
    name: str,
    end: BoardEnd,
    rails: tuple[Board, Board],
    given: Uprights,
) -> None:
    """Half of each rail at least is left for the joint with the leg."""
    for rail in rails:
        most = rail.width / 2 - given.end_room
        if given.let_in > most + 1e-9:
            number = end.board.index(rail) + 1 if rail in end.board else 1
            raise InputError(
                f"{parameter}.let_in",
                sheet.show(given.let_in),
                f"must be at most {sheet.at_most(most)} in {name}.board.{number}, half its width",
                "make it less, or the rail wider",
            )
