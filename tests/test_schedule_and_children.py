"""Long schedules go on over further sheets; work done beside never holds the program up."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from bedmodel.drawing.arrangement import Drafter
from bedmodel.drawing.joint_pages import _screws, joint_pages
from bedmodel.drawing.sheet_frame import Title
from bedmodel.drawing.whole import Whole
from bedmodel.exports.paper.drawing_papers import drawing_paper
from tests.beds import good

ROOT = Path(__file__).resolve().parent.parent


def test_a_long_schedule_goes_on_over_further_sheets() -> None:
    """A bed with a deck has more screws than one A4 sheet has room for: none is left out."""
    bed = good("teasel")
    drafter, design = Drafter(Whole(bed), drawing_paper("A4")), bed.layout.sheet.design.title
    title = Title("Joint schedule", design, "Schedule", "", "", "", "millimetres")
    pages = joint_pages(drafter, title)
    assert [page.name for page in pages] == ["joint_schedule", "joint_schedule_2"]
    told = " ".join(text.text for page in pages for text in page.words)
    rows = _screws(drafter).rows
    assert len(rows) > 5
    for row in rows:
        assert all(word in told for word in row[0].split()), row


@pytest.mark.skipif(not hasattr(os, "fork"), reason="work is done beside only where it can fork")
@pytest.mark.parametrize("end", ["raise RuntimeError('on purpose')", "os.kill(os.getpid(), 9)"])
def test_a_failure_does_not_wait_for_work_beside(end: str) -> None:
    """More is sent than a pipe holds, and nobody reads it."""
    script = f"""
        import os
        from bedmodel.exports.beside import begun

        def much(size):
            return bytes(size)

        os.cpu_count = lambda: 2
        one, other = begun(much, 10**7), begun(much, 10**7)
        {end}
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script)],
        cwd=ROOT,
        capture_output=True,  # a child that lives on would hold these open
        timeout=60,
    )
    assert done.returncode in (1, -9)
