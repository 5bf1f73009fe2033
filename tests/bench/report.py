"""The report: how long it takes to make, how large it is, how soon a browser shows it.

    python3 scripts/environment.py --dev tests/bench/report.py

Prints one line for each example. The browser is a headless Chromium with software 3D, new
for each opening; of five openings the middle one counts.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bedmodel.assembly import make_bed
from bedmodel.checks.run import run_checks
from bedmodel.exports.report.gather import gather
from bedmodel.exports.report.page import report_html
from bedmodel.exports.shop_files import Workshop
from bedmodel.exports.working import Working
from bedmodel.sheets import load_sheet
from bedmodel.shop_profile import load_profile
from tests.browser import browser, chromium

OPENINGS = 5


def main() -> None:
    for name in ("campion", "hawthorn", "sorrel"):
        bed = make_bed(load_sheet(name))
        results = run_checks(bed)
        start = time.perf_counter()
        matter = gather(Working(bed, Workshop(load_profile(None))), results, frozenset())
        drawn = time.perf_counter()
        data = report_html(matter)
        done = time.perf_counter()
        line = f"{name}: picture {drawn - start:.2f} s, page {done - drawn:.2f} s, "
        line += f"{len(data) / 1e6:.2f} MB"
        if chromium():
            line += f", ready in {statistics.median(ready(data)):.0f} ms"
        print(line)


def ready(data: bytes) -> list[float]:
    """Milliseconds from asking for the page to its first frame, for each opening."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "report.html"
        path.write_bytes(data)
        for _ in range(OPENINGS):
            with browser() as page:
                page.size(1280, 800)
                page.open(path)
                found.append(float(page.run("document.getElementById('stage').dataset.ready")))
    return found


if __name__ == "__main__":
    main()
