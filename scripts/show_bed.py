"""Show a bed in a CadQuery host; in plain Python, write its STEP file to out/.

Open this file in the host and change the constants. Those at the top are plain
numbers and texts, so that hosts offer them as parameters.
"""

SHEET = "campion"
SIZE = "us-queen"
MATTRESS_THICKNESS = 254.0
PLATFORM = 317.5
STANCE = 34.925

import pathlib  # noqa: E402
import sys  # noqa: E402

# A host may run this text without a file; then bedmodel must be installed.
if "__file__" in globals():
    sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent))

from bedmodel.assembly import make_bed  # noqa: E402
from bedmodel.host import show, write_when_plain  # noqa: E402
from bedmodel.sheets import load_sheet  # noqa: E402

sheet = load_sheet(
    SHEET,
    size=SIZE,
    changes=[
        f"mattress.thickness={MATTRESS_THICKNESS} mm",
        f"height.platform={PLATFORM} mm",
        "height.mattress_top=auto",  # it follows from the two above
        f"frame.stance={STANCE} mm",
    ],
)
bed = make_bed(sheet)
print(show(bed, globals(), bed.name))
written = write_when_plain(bed, globals(), pathlib.Path("out"))
if written is not None:
    print(f"wrote {written}")
