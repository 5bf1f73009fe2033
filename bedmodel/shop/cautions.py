"""The usual cautions, each said once and printed wherever it applies.

Source: dust limits and wood classes as in OSHA, NIOSH and ACGIH publications; the rest is
common practice.
"""

from __future__ import annotations

DUST = "wood dust harms the lungs, oak and beech most: extract it at the machine and wear a mask"
SAW = (
    "saw: riving knife and guard on, push sticks, stand clear of the line of the blade; "
    "unplug it to set it"
)
ROUTER = (
    "router: unplug to change bits, feed against the cutter's turn, small passes, both hands on it"
)
GLUE = "glue: mind its open time, wear gloves, keep it off finished faces"
HEAVY = "heavy and awkward: lift with two people, keep fingers out of closing joints"
SCREWS = "drive screws by hand at the last turns; wear eye protection when boring"
BENCH = "small parts are held in a jig or a vice, never in the hand, near a blade"
PLANER = (
    "jointer and planer: guards on, push blocks, no piece shorter than the maker allows, never "
    "pull a piece out by hand"
)
BAND_SAW = "band saw: guard down to just above the wood, fingers never in line with the blade"
