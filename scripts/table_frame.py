"""The frame of a small table, made with the joints of bedmodel: legs, aprons and a stretcher.

Open this file in a CadQuery host and change the constants; in plain Python it writes
``out/table_frame.step``. Lengths are millimetres. The guide is ``shared/OWN_PARTS.md``.
"""

LENGTH = 900.0  # over the legs, along x
WIDTH = 560.0  # over the legs, along y
HEIGHT = 710.0
LEG = 45.0  # square
APRON_WIDTH = 100.0
APRON_THICKNESS = 20.0
REVEAL = 5.0  # how far an apron stands back behind the legs' outer faces
STRETCHER_WIDTH = 60.0
STRETCHER_THICKNESS = 24.0
EDGE = 2.0  # radius on the legs' long edges
MITRE_GAP = 0.7  # between the tips of two tenons that meet in a leg

import pathlib  # noqa: E402
import sys  # noqa: E402

# A host may run this text without a file; then bedmodel must be installed.
if "__file__" in globals():
    sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent))

import cadquery as cq  # noqa: E402

from bedmodel.host import show, write_when_plain  # noqa: E402
from bedmodel.joinery import (  # noqa: E402
    eased,
    loose_tenons,
    mortises,
    plan_dowels,
    plan_tenons,
    tenons,
)

middle = REVEAL + APRON_THICKNESS / 2  # of an apron's thickness, from the outer faces
level = HEIGHT - APRON_WIDTH / 2  # of its width, above the floor

# One plan for both halves of the joint. The tenon is as long as it can be where two of them
# meet: its outer cheek ends at the other tenon's outer cheek, less half the gap.
third = plan_tenons(APRON_THICKNESS, APRON_WIDTH).thickness
tenon = plan_tenons(
    APRON_THICKNESS,
    APRON_WIDTH,
    length=LEG - middle + third / 2 - MITRE_GAP,
    haunch="+x",
)


def leg() -> cq.Workplane:
    """The leg at the corner x = 0, y = 0; turned, it serves the other three corners."""
    post = cq.Workplane().box(LEG, LEG, HEIGHT, centered=False)
    post = post.edges("|Z").invoke(eased("roundover", EDGE))
    post = post.faces(">X").workplane(origin=(LEG, middle, level))
    post = post.invoke(mortises(tenon, rotation=90))
    post = post.faces(">Y").workplane(origin=(middle, LEG, level))
    # It meets the first one inside the leg.
    return post.invoke(mortises(tenon, rotation=90, runs_out=True))


def apron(over_legs: float) -> cq.Workplane:
    """An apron along x in front of y = 0, its show face outwards, tenons mitred at both ends."""
    size = (over_legs - 2 * LEG, APRON_THICKNESS, APRON_WIDTH)
    board = cq.Workplane().box(*size).translate((over_legs / 2, middle, level))
    ends = (0.0, middle, level)
    board = board.faces("<X").workplane(origin=ends).invoke(tenons(tenon, rotation=90, mitre=45))
    return board.faces(">X").workplane(origin=ends).invoke(tenons(tenon, rotation=90, mitre=-45))


# The stretcher's dowels stand less deep in the aprons, which are thin.
pins = plan_dowels(
    STRETCHER_THICKNESS, STRETCHER_WIDTH, depth=APRON_THICKNESS - 8, depth_in_board=24
)
inside = (LENGTH / 2, REVEAL + APRON_THICKNESS, level)
long_apron = apron(LENGTH).faces(">Y").workplane(origin=inside).invoke(mortises(pins))
short_apron = apron(WIDTH)
stretcher = cq.Workplane().box(
    STRETCHER_WIDTH, WIDTH - 2 * (REVEAL + APRON_THICKNESS), STRETCHER_THICKNESS
)
stretcher = stretcher.translate((LENGTH / 2, WIDTH / 2, level))
dowels = []
for face in ("<Y", ">Y"):
    end = stretcher.faces(face).workplane(centerOption="CenterOfMass")
    dowels += [d for d in end.invoke(loose_tenons(pins)).vals() if isinstance(d, cq.Shape)]
    stretcher = end.invoke(mortises(pins, half="board"))


def turned(quarters: int, x: float, y: float) -> cq.Location:
    """A part turned by quarters round the vertical, its corner set at x and y."""
    return cq.Location((x, y, 0), (0, 0, 1), 90 * quarters)


wood = cq.Color(0.76, 0.60, 0.42)
table = cq.Assembly(name="table_frame")
post = leg()
corners = {
    "front_left": turned(0, 0, 0),
    "front_right": turned(1, LENGTH, 0),
    "back_right": turned(2, LENGTH, WIDTH),
    "back_left": turned(3, 0, WIDTH),
}
for name, place in corners.items():
    table.add(post, name=f"leg_{name}", loc=place, color=wood)
table.add(long_apron, name="apron_front", loc=turned(0, 0, 0), color=wood)
table.add(short_apron, name="apron_right", loc=turned(1, LENGTH, 0), color=wood)
table.add(long_apron, name="apron_back", loc=turned(2, LENGTH, WIDTH), color=wood)
table.add(short_apron, name="apron_left", loc=turned(3, 0, WIDTH), color=wood)
table.add(stretcher, name="stretcher", color=wood)
for number, dowel in enumerate(dowels, start=1):
    table.add(dowel, name=f"dowel_{number}", color=cq.Color(0.85, 0.75, 0.6))

print(show(table, globals(), "table_frame"))
written = write_when_plain(table, globals(), pathlib.Path("out"))
if written is not None:
    print(f"wrote {written}")
