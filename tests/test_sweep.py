"""Sweeps: ranges as written, every point as the other verbs have it, the front, plots, resuming."""

from __future__ import annotations

import csv
import itertools
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from bedmodel.cli import main
from bedmodel.errors import InputError
from bedmodel.sweeping.chart import drawing, pdf_bytes, spread, svg_bytes
from bedmodel.sweeping.figures_of_rows import read_plot, usual_plots
from bedmodel.sweeping.ranges import Value, points, read_axis
from bedmodel.sweeping.run import Row, front, fronts
from bedmodel.sweeping.ticks import scale_of

STEPS = "slat.thickness=15:25:2.5"


def test_ranges_are_read_in_the_sheets_unit_and_end_at_their_end() -> None:
    axis = read_axis(STEPS, "mm")
    assert [value.number for value in axis.values] == [15, 17.5, 20, 22.5, 25]
    inches = read_axis("slat.thickness=1/2:1:1/8 in", "inch")
    assert [value.shown for value in inches.values] == ["1/2 in", "5/8 in", "3/4 in", "7/8 in",
                                                        "1 in"]  # fmt: skip
    assert inches.values[1].number == pytest.approx(15.875, abs=1e-9)
    short = read_axis("leg.splay=1:2:0.3", "mm")
    assert [value.number for value in short.values] == pytest.approx([1, 1.3, 1.6, 1.9])
    assert [v.text for v in read_axis("support_foot.count=3,5", "mm").values] == ["3", "5"]
    board = read_axis("headboard.board.1.width=200,auto", "mm")
    assert [v.text for v in board.values] == ["200.0 mm", "auto"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("slat.thickness", "PARAMETER=VALUES"),
        ("slat.thicknes=1:2:1", "did you mean slat.thickness"),
        ("slat.thickness=15:25", "from:to:step"),
        ("slat.thickness=25:15:1", "end not before"),
        ("slat.thickness=15:25:0", "more than 0"),
        ("slat.thickness=15:25:0.0001", "at most"),
        ("slat.thickness=thick,thin", "not a number"),
        ("wood.species=red-oak,,white-ash", "empty"),
        ("support_foot.count=many", "is not a number"),
    ],
)
def test_other_ranges_are_refused(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_axis(text, "mm")


def test_too_many_points_are_refused() -> None:
    axis = read_axis("slat.thickness=15:25:0.005", "mm")
    with pytest.raises(InputError, match="100000"):
        points([axis, axis])


def rows_with(pairs: list[tuple[float, float]]) -> list[Row]:
    value = (Value("x", "x", None),)
    return [Row(value, {"cost": x, "sag": y, "failed": 0}) for x, y in pairs]


def test_the_front_is_what_nobody_beats() -> None:
    rng = random.Random(4)
    pairs = [(rng.randint(1, 12), rng.randint(1, 12)) for _ in range(60)]
    wanted = {
        i
        for i, (x, y) in enumerate(pairs)
        if not any(a <= x and b <= y and (a, b) != (x, y) for a, b in pairs)
    }
    assert set(front(rows_with([(float(x), float(y)) for x, y in pairs]), ("cost", "sag"))) == (
        wanted
    )


def test_what_fails_or_has_no_price_is_not_of_the_front() -> None:
    rows = rows_with([(1, 1), (2, 2), (3, 3)])
    rows[0].figures["failed"] = 1
    rows[1].figures["cost"] = None
    assert front(rows, ("cost", "sag")) == [2]


def test_each_mattress_has_a_front_of_its_own() -> None:
    axes = [read_axis("mattress.size=us-king,us-twin", "mm"), read_axis("slat.width=60,70", "mm")]
    figures = [(600.0, 0.9), (650.0, 0.8), (300.0, 0.5), (320.0, 0.6)]
    rows = [
        Row(values, {"cost": cost, "sag": sag, "failed": 0})
        for values, (cost, sag) in zip(points(axes), figures, strict=True)
    ]
    assert fronts(axes, rows, ("cost", "sag")) == [[0, 1], [2]]
    assert fronts(axes[1:], [Row(r.values[1:], r.figures) for r in rows], ("cost", "sag")) == [[2]]


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (15.875, 25.4, "inch", ["5/8", "11/16", "3/4", "13/16", "7/8", "15/16", "1"]),
        (541.0, 698.0, None, ["540", "560", "580", "600", "620", "640", "660", "680", "700"]),
        (0.61, 1.34, None, ["0.6", "0.7", "0.8", "0.9", "1.0", "1.1", "1.2", "1.3", "1.4"]),
        (300.0, 340.0, "mm", ["300", "305", "310", "315", "320", "325", "330", "335", "340"]),
    ],
)
def test_marks_of_an_axis_are_round(low: float, high: float, unit: Any, words: list[str]) -> None:
    scale = scale_of(low, high, 9, unit)
    assert scale.low <= low
    assert scale.high >= high
    assert list(scale.words) == words


def test_one_value_has_an_axis_too() -> None:
    scale = scale_of(5.0, 5.0, 9, None, whole=True)
    assert scale.low < 5 < scale.high
    assert all("." not in word for word in scale.words)


def test_labels_are_spread() -> None:
    places = spread([10, 11, 12, 95, 99], 6, 5, 100)
    assert all(b - a >= 6 - 1e-9 for a, b in itertools.pairwise(places))
    assert places[0] >= 5
    assert places[-1] <= 100


# --- the verb ----------------------------------------------------------------------------------


SWEEP = ["sweep", "sorrel", "--vary", "slat.thickness=4,16,22", "--vary",
         "wood.slats=yellow-birch,red-oak"]  # fmt: skip


@pytest.fixture(scope="module")
def swept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("sweep")
    assert main([*SWEEP, "--out", str(out)]) == 0
    return out / "sweep-sorrel"


def test_each_point_is_the_bed_with_its_changes(
    swept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = json.loads((swept / "sweep.json").read_text("utf-8"))
    assert len(record["points"]) == 6
    point = next(p for p in record["points"] if p["set"] == {
        "slat.thickness": "22.0 mm", "wood.slats": "yellow-birch"})  # fmt: skip
    main(["compare", "sorrel", "--json", "--set", "slat.thickness=22", "--set",
          "wood.slats=yellow-birch"])  # fmt: skip
    (other,) = json.loads(capsys.readouterr().out)
    for name in ("cost", "mass", "sag", "board_feet", "height"):
        assert point[name] == other[name]


def test_what_is_refused_is_told_with_its_reason(swept: Path) -> None:
    rows = list(csv.DictReader((swept / "sweep.csv").open(encoding="utf-8")))
    refused = [row for row in rows if row["refused"]]
    assert [row["slat.thickness_mm"] for row in refused] == ["4", "4"]
    assert all(row["refused"].startswith("slat.thickness") for row in refused)
    assert all(not row["cost_kg"] if "cost_kg" in row else not row["cost"] for row in refused)
    page = (swept / "sweep.html").read_text("utf-8")
    assert "must be a length" in page
    assert page.count("data:image/svg+xml;base64,") == 3


def test_no_word_of_a_plot_lies_on_another(swept: Path) -> None:
    """By the boxes of the words as a PDF reader sees them."""
    import pypdfium2

    document = pypdfium2.PdfDocument((swept / "plots.pdf").read_bytes())
    assert len(document) == 3
    for page in document:
        text = page.get_textpage()
        boxes = [text.get_rect(i) for i in range(text.count_rects())]
        assert len(boxes) > 10
        width, height = page.get_size()
        for i, (a0, b0, a1, b1) in enumerate(boxes):
            assert 0 <= a0 < a1 <= width
            assert 0 <= b0 < b1 <= height
            for c0, d0, c1, d1 in boxes[i + 1 :]:
                assert min(a1, c1) - max(a0, c0) < 0.5 or min(b1, d1) - max(b0, d0) < 0.5


def test_plots_have_the_same_bytes_each_time() -> None:
    axes = [read_axis(STEPS, "mm"), read_axis("wood.slats=red-oak,white-ash", "mm")]
    rows = [
        Row(values, {"cost": 500 + 9.7 * i, "sag": 2 / (i + 1), "mass": 50.0 + i, "failed": i % 3})
        for i, values in enumerate(points(axes))
    ]
    for plot in usual_plots(axes, rows):
        made = [drawing(plot, rows, [[4, 7]], "mm", "told") for _ in range(2)]
        assert svg_bytes(made[0]) == svg_bytes(made[1])
        assert pdf_bytes(made[:1], "t") == pdf_bytes(made[1:], "t")
        assert b"<text" in svg_bytes(made[0])


@pytest.mark.parametrize("text", ["cost", "cost,sag,mass,sag", "cost,nothing", "cost,joints"])
def test_plots_that_cannot_be_drawn_are_refused(
    text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*SWEEP, "--plot", text]) == 2
    assert capsys.readouterr().err.startswith(f"bedmodel: --plot = {text}")


def test_a_plot_may_name_the_end_of_a_parameter() -> None:
    plot = read_plot("thickness,sag", [read_axis(STEPS, "mm")])
    assert plot.x.name == "slat.thickness"


def test_a_parameter_that_no_sheet_takes_is_refused_before_any_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["sweep", "sorrel", "--vary", "slat.thickness=1,2", "--out", str(out)]) == 2
    assert "slat.thickness" in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_sweep_that_is_killed_goes_on_from_there(tmp_path: Path) -> None:
    """Rows that were done are not worked out again, and the result is that of one run."""
    argv = [sys.executable, "-m", "bedmodel", "sweep", "sorrel", "--vary", "slat.thickness=16:21:1",
            "--jobs", "1", "--json", "--out"]  # fmt: skip
    held = tmp_path / "a" / "sweep-sorrel.partial.jsonl"
    root = Path(__file__).resolve().parent.parent
    process = subprocess.Popen([*argv, str(tmp_path / "a")], cwd=root, stdout=subprocess.DEVNULL,
                               stderr=subprocess.PIPE, start_new_session=True)  # fmt: skip
    while not held.is_file() or held.read_bytes().count(b"\n") < 2:
        assert process.poll() is None
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGKILL)
    assert process.wait(30) == -signal.SIGKILL
    lines = held.read_bytes().split(b"\n")
    assert 2 <= len(lines) - 1 < 7
    # A row as no run would make it shows that it was taken over; a torn one is done again.
    first = json.loads(lines[1])
    first["figures"]["cost"] = 1234.5
    held.write_bytes(b"\n".join([lines[0], json.dumps(first).encode(), b'{"point": 3, "fig']))
    done = subprocess.run([*argv, str(tmp_path / "a")], cwd=root, capture_output=True, check=True)
    again = json.loads(done.stdout)["points"]
    assert again[first["point"]]["cost"] == 1234.5
    assert len(again) == 6
    assert all(point["cost"] not in (None, 1234.5) for point in again[first["point"] + 1 :])
    assert not held.exists()
    assert (tmp_path / "a" / "sweep-sorrel" / "plots.pdf").is_file()


def test_all_cores_give_what_one_gives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bedmodel.sweeping.run.WORTH_MORE_CORES", 1)
    argv = ["sweep", "sorrel", "--vary", "slat.thickness=20:23:1"]
    for jobs in ("1", "2"):
        assert main([*argv, "--jobs", jobs, "--out", str(tmp_path / jobs)]) == 0
    one, two = ((tmp_path / jobs / "sweep-sorrel" / "sweep.json").read_bytes() for jobs in "12")
    assert one == two


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_no_process_of_a_sweep_outlives_it(tmp_path: Path, how: signal.Signals) -> None:
    import psutil

    argv = [sys.executable, "-m", "bedmodel", "sweep", "sorrel", "--jobs", "2", "--vary",
            "slat.thickness=16:22:0.05", "--out", str(tmp_path)]  # fmt: skip
    root = Path(__file__).resolve().parent.parent
    process = subprocess.Popen(
        argv,
        cwd=root,
        stderr=subprocess.PIPE,
        start_new_session=True,
        # Tests that run in the background of a shell are told to leave Ctrl-C alone.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    held = tmp_path / "sweep-sorrel.partial.jsonl"
    while not held.is_file() or held.read_bytes().count(b"\n") < 2:
        assert process.poll() is None
        time.sleep(0.05)
    children = psutil.Process(process.pid).children(recursive=True)
    assert len(children) >= 2
    process.send_signal(how)
    assert process.wait(60) == (130 if how == signal.SIGINT else -signal.SIGKILL)
    _, alive = psutil.wait_procs(children, timeout=30)
    assert alive == []
