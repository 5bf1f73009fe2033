"""The script for CadQuery hosts: in CadQuery's own gateway and in plain Python."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import cadquery as cq
import pytest
from cadquery import cqgi

REPOSITORY = Path(__file__).resolve().parent.parent
SCRIPT = REPOSITORY / "scripts" / "show_bed.py"


@pytest.fixture(autouse=True)
def _importable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(REPOSITORY))


def _run(**parameters: object) -> cqgi.BuildResult:
    return cqgi.parse(SCRIPT.read_text()).build(build_parameters=parameters)


def test_gateway_finds_the_constants() -> None:
    found = cqgi.parse(SCRIPT.read_text()).metadata.parameters
    assert set(found) >= {"SHEET", "SIZE", "MATTRESS_THICKNESS", "PLATFORM", "STANCE"}
    assert found["PLATFORM"].default_value == 317.5


def test_gateway_shows_the_bed_with_other_parameters() -> None:
    result = _run(SHEET="sorrel", SIZE="eu-90x200", PLATFORM=240.0, STANCE=0.0)
    assert result.success, result.exception
    (shown,) = result.results
    assert isinstance(shown.shape, cq.Assembly)
    names = {child.name for child in shown.shape.children}
    assert names == {"head_end", "foot_end", "rails", "platform"}  # a single: no centre support
    slats = shown.shape.objects["platform"].children
    box = slats[0].toCompound().BoundingBox()
    # The platform asked for is the slats' top: nothing of the script's own value is left.
    assert box.zmax == pytest.approx(240.0, abs=1e-4)


def test_gateway_reports_a_sheet_that_cannot_be_built() -> None:
    result = _run(PLATFORM=900.0)
    assert not result.success
    assert "height.platform" in str(result.exception)


def test_plain_python_writes_the_step_file(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPT)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "campion.step").read_bytes().startswith(b"ISO-10303-21;")
    assert "nothing shown" in done.stdout


def test_assembly_carries_colour_and_density() -> None:
    result = _run(SHEET="sorrel", SIZE="eu-90x200", PLATFORM=240.0, STANCE=0.0)
    by_name = {node.name.split("/")[-1]: node for _, node in result.results[0].shape.traverse()}
    leg = by_name["head_leg_left"]
    # Yellow birch: specific gravity 0.62 at 12 % (Wood Handbook Table 5-3a) times 1120.
    assert leg.material.density == pytest.approx(0.62 * 1120)
    assert leg.color is not None
