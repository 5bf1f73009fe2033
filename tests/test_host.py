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
TABLE = REPOSITORY / "scripts" / "table_frame.py"


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


def test_gateway_builds_another_table() -> None:
    model = cqgi.parse(TABLE.read_text())
    assert {"LENGTH", "WIDTH", "HEIGHT", "LEG", "APRON_WIDTH"} <= set(model.metadata.parameters)
    result = model.build(build_parameters={"LENGTH": 700.0, "HEIGHT": 450.0})
    assert result.success, result.exception
    (shown,) = result.results
    box = shown.shape.toCompound().BoundingBox()
    assert (box.xlen, box.ylen, box.zlen) == pytest.approx((700, 560, 450), abs=1e-6)


def test_gateway_tells_of_a_table_that_cannot_be_made() -> None:
    result = cqgi.parse(TABLE.read_text()).build(build_parameters={"APRON_THICKNESS": 12.0})
    assert not result.success
    assert "board_thickness = 12 mm: too thin" in str(result.exception)


@pytest.mark.parametrize("script", [SCRIPT, TABLE], ids=["bed", "table"])
def test_an_editor_runs_the_text_in_a_module_of_its_own(
    script: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a CadQuery editor does: ``__cq_main__``, its functions among the script's globals.

    It runs the text again at each change, with the modules that the script brought unloaded.
    """
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        shown: dict[str, object] = {}

        def show_object(
            thing: object, name: str | None, options: object, shown: dict[str, object] = shown
        ) -> None:
            assert name is not None
            shown[name] = thing

        before = set(sys.modules)
        names = {"__name__": "__cq_main__", "__file__": str(script), "cq": cq}
        names |= {"show_object": show_object, "debug": show_object, "log": print}  # type: ignore[dict-item]
        exec(compile(script.read_text(), str(script), "exec"), names)
        assert len(shown) == 1
        assert all(isinstance(thing, cq.Assembly) for thing in shown.values())
        for name in set(sys.modules) - before:
            del sys.modules[name]
    assert list(tmp_path.iterdir()) == []  # in a host, nothing is written


def test_in_a_notebook_a_bed_is_displayed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernel's own display, here a stand-in, gets the bed, whose HTML it then asks for."""
    from types import ModuleType

    from bedmodel.host import is_plain_python, show
    from tests.beds import good

    shown: list[object] = []
    stand_in = ModuleType("IPython.display")
    stand_in.display = shown.append  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "IPython", ModuleType("IPython"))
    monkeypatch.setitem(sys.modules, "IPython.display", stand_in)
    names = {"__name__": "__main__", "get_ipython": object}
    assert show(good("sorrel"), names) == "shown in the notebook"
    assert shown == [good("sorrel")]
    assert not is_plain_python(names)
    assert is_plain_python({"__name__": "__main__"})
