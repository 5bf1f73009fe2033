"""``strength``, ``movement`` and ``advise`` as a maker meets them; the picture and the files."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from bedmodel.cli import main
from bedmodel.exports.paper.sheet import Path as Drawn
from bedmodel.exports.paper.sheet import Text
from bedmodel.exports.paper.svg import svg_bytes
from bedmodel.exports.reckoning_page import strength_page
from bedmodel.sheets import load_sheet
from bedmodel.skeleton import lay_out
from bedmodel.strength import CAUTIONS
from bedmodel.strength.answer import Strength, strength

EXAMPLES = ("campion", "hawthorn", "sorrel")
WEAK = ("sorrel", "slat.thickness=18 mm")  # spruce slats that sag 30 mm


def said(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == 0
    return capsys.readouterr().out


def reckoned(name: str, *changes: str) -> Strength:
    return strength(lay_out(load_sheet(name, changes=changes)))


def joined(text: str) -> str:
    """Text with its lines run together, as a reader takes it in."""
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("verb", ["strength", "movement", "advise"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_answer_prints_its_cautions_and_what_it_rests_on(
    verb: str, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = joined(said(capsys, verb, name))
    assert all(caution in told for caution in CAUTIONS)
    assert "rests on" in told
    assert "[unconfirmed]" in told
    assert "[practice]" in told
    record = json.loads(said(capsys, verb, name, "--json"))
    assert record["cautions"] == list(CAUTIONS)


@pytest.mark.parametrize("verb", ["strength", "movement", "advise"])
def test_the_verbs_do_not_load_the_modeller(verb: str) -> None:
    code = (
        f"import sys; from bedmodel.cli import main; main(['{verb}', 'campion']); "
        "sys.exit(3 if {'cadquery', 'OCP', 'ezdxf', 'reportlab'} & set(sys.modules) else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True,
        cwd=Path(__file__).resolve().parent.parent, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def test_a_bed_that_is_too_weak_fails_and_says_which_part(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["strength", WEAK[0], "--set", WEAK[1]]) == 1
    told = capsys.readouterr().out.splitlines()[-1]
    assert told.startswith("FAILED: too much is asked of: slat")
    assert "bedmodel advise" in told
    assert main(["strength", WEAK[0]]) == 0


def test_a_rail_on_one_foot_is_told_not_to_stand(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["strength", "hawthorn", "--set", "support_foot.count=1"]) == 1
    assert "does not stand" in capsys.readouterr().out
    assert main(["advise", "hawthorn", "--set", "support_foot.count=1"]) == 0
    assert "it needs 2 feet" in joined(capsys.readouterr().out)


def test_may_the_centre_rail_be_thin_and_on_how_many_feet(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The figure, the reason and the caution; and the answer holds when it is tried."""
    thin = "centre_rail.height=3/4 in"
    told = said(capsys, "advise", "campion", "--set", thin)
    answer = joined(told.partition("how many feet does the centre rail need?")[2])
    assert answer.lstrip().startswith("3/4 in thick, it needs 8 feet")
    assert "with 7, sag under point on bay 1 is 1.3 of what is allowed" in answer
    assert "the bed as it is will not do" in answer
    assert "adjustable" in answer
    assert "screwed into it" in answer
    (command,) = re.findall(r"try it: (bedmodel strength .*?support_foot.*?) caution", answer)
    words = shlex.split(command)
    assert thin in words
    assert main(words[1:]) == 0
    capsys.readouterr()
    fewer = [word.replace("count=8", "count=7") for word in words]
    assert main(fewer[1:]) == 1


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_answer_holds_when_it_is_tried(name: str) -> None:
    """By the verb itself, as a record, with the settings as they are printed."""
    done = json.loads(_json_of(["advise", name, "--json"]))
    for answer in done["answers"]:
        if not answer["set"]:
            continue
        changes = [text for change in answer["set"] for text in ("--set", change)]
        record = json.loads(_json_of(["strength", name, *changes, "--json"]))
        member = answer["parameter"].partition(".")[0].replace("support_foot", "centre_rail")
        judged = {m["member"]: m["passed"] for m in record["members"]}
        assert judged[member] if member in judged else all(judged.values()), answer["text"]


def _json_of(argv: list[str]) -> str:
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        main(argv)
    return out.getvalue()


def test_all_lists_every_load_of_every_part(capsys: pytest.CaptureFixture[str]) -> None:
    found = reckoned("hawthorn")
    told = said(capsys, "strength", "hawthorn", "--all").partition("whole bed")[0]
    for report in found.members:
        for case in report.cases:
            assert re.search(rf"^{report.member.replace('_', ' ')} +{case.load}", told, re.M)


def test_basis_lists_every_figure_with_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "strength", "campion", "--basis")
    assert re.search(r"loads\.sleeper_mass_kg +110 kg .*EN 1725:2023", told)
    assert re.search(r"limits\.safety_divisor +1\.44 +unconfirmed", told)


def test_records_bear_no_more_than_they_are_good_for() -> None:
    record = json.loads(_json_of(["strength", "hawthorn", "--json"]))
    sags = [case["sag"] for member in record["members"] for case in member["cases"]]
    assert max(sags) > 3
    assert all(sag * 2 == round(sag * 2) for sag in sags)
    moved = json.loads(_json_of(["movement", "hawthorn", "--json"]))
    board = next(part for part in moved["parts"] if part["part"] == "headboard_board")
    # White ash, 385 mm, 7 to 10 % (Wood Handbook, Table 13-5).
    assert board["at_dampest"] == pytest.approx(385 * 0.00274 * 3, abs=0.05)


# --- the picture ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_two_words_of_the_picture_lie_on_one_another(name: str) -> None:
    page = strength_page(reckoned(name))
    boxes = [mark.box for mark in page.marks if isinstance(mark, Text)]
    assert len(boxes) > 20
    for i, box in enumerate(boxes):
        assert 0 <= box.x0 < box.x1 <= page.paper.width
        assert 0 <= box.y0 < box.y1 <= page.paper.height
        assert not any(box.meets(other) for other in boxes[:i])


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_member_is_drawn_deepest_where_it_sags_most(name: str) -> None:
    found = reckoned(name)
    drawn = [m for m in strength_page(found).marks if isinstance(m, Drawn) and m.role == "sag"]
    members = [r for r in found.members if any(case.bent for case in r.cases)]
    for path, report in zip(drawn, members, strict=True):
        left, right = path.points[0][0], path.points[-1][0]
        deepest = min(path.points, key=lambda p: p[1])
        bent = [case.bent for case in report.cases if case.bent]
        most = max(each.worst_sag()[1] for each in bent)
        share = (deepest[0] - left) / (right - left)
        there = max(each.sag(share * bent[0].beam.length) for each in bent)
        assert there == pytest.approx(most, rel=0.02, abs=0.01)


def test_a_member_over_its_limits_is_drawn_past_the_line() -> None:
    marks = strength_page(reckoned(*WEAK)).marks
    uses = [m for m in marks if isinstance(m, Drawn) and m.role == "use"]
    frames = [m for m in marks if isinstance(m, Drawn) and m.role == "use_limit"]
    over = [
        max(y for _, y in use.points) > max(y for _, y in frame.points)
        for use, frame in zip(uses, frames, strict=True)
    ]
    assert over == [True] + [False] * (len(uses) - 1)


def test_the_picture_is_one_file_without_links() -> None:
    root = ET.fromstring(svg_bytes(strength_page(reckoned("campion"))))
    assert root.tag.endswith("svg")
    assert not [e for e in root.iter() if e.tag.endswith(("script", "image", "a"))]


def test_files_are_written_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    for _ in range(2):  # a second time over the first
        told = said(capsys, "strength", "hawthorn", "--out", str(out))
    there = out / "hawthorn-eu-160x200-strength" / "strength"
    assert str(there) in told
    assert {p.name for p in there.iterdir()} == {"strength.svg", "strength.json", "movement.json"}
    record = json.loads((there / "strength.json").read_text("utf-8"))
    assert record == json.loads(_json_of(["strength", "hawthorn", "--json"]))
