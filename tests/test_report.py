"""The report: its data against the solids, its page as text, and where it is put."""

from __future__ import annotations

import base64
import functools
import hashlib
import io
import json
import math
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
from PIL import Image

from bedmodel.assembly import Bed
from bedmodel.checks.finding import Code
from bedmodel.checks.run import run_checks
from bedmodel.cli import main
from bedmodel.errors import WriteError
from bedmodel.exports.report import forms, page
from bedmodel.exports.report.apart import apart
from bedmodel.exports.report.matter import Chapter, Figure, Matter, Remark
from bedmodel.exports.report.page import report_html
from bedmodel.exports.report.put import put_report
from bedmodel.exports.report.script_data import script_data
from bedmodel.exports.report.words import data_block, titled
from bedmodel.joints import board_joints
from bedmodel.sheets import load_sheet, shared_folder
from bedmodel.shop_profile import load_profile
from bedmodel.stock.cut_list import cut_list
from bedmodel.stock.rack import read_rack
from bedmodel.stock.sawing import plan_for_shop
from bedmodel.units import format_number
from tests.beds import EXAMPLES, good, moved

HOSTILE = '</script><img src=x onerror="document.title=1">&amp;\''
VENDOR = Path(page.__file__).parent / "vendor"


def plain_picture() -> bytes:
    held = io.BytesIO()
    Image.new("RGB", page.PICTURE, (190, 160, 120)).save(held, "JPEG")
    return held.getvalue()


def matter_of(bed: Bed) -> Matter:
    cuts = cut_list(bed.pieces, load_profile(None), bed.layout.sheet.design.unit)
    return Matter(bed, run_checks(bed), cuts, plain_picture())


@functools.cache
def matter(name: str = "campion", *changes: str) -> Matter:
    return matter_of(good(name, None, *changes))


def size(*sides: float) -> str:
    """As the page prints sizes of a bed in inches: a whole and its fraction stay together."""
    shown = " × ".join(format_number(side, "inch").replace(" ", "\u00a0") for side in sides)
    return f"{shown}\u00a0in"


class Tags(HTMLParser):
    """Every tag with its attributes, and the text of scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.inside: list[tuple[str, str]] = []
        self.said = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        if self.cdata_elem:
            self.inside.append((self.cdata_elem, data))
        else:
            self.said += data

    def of(self, tag: str) -> Iterator[dict[str, str | None]]:
        return (attributes for name, attributes in self.found if name == tag)


# --- forms -------------------------------------------------------------------------------


def lengths(form: forms.Form, edges: forms.Ints) -> float:
    ends = form.corners[edges]
    return float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())


def test_a_block_has_its_twelve_edges() -> None:
    form = forms.form_of(cq.Workplane().box(10, 20, 30).val())
    assert len(form.edges) == 12
    assert lengths(form, form.edges) == pytest.approx(4 * (10 + 20 + 30))
    assert len(form.soft) == 0


def test_a_hole_has_two_rims_and_no_seam() -> None:
    form = forms.form_of(cq.Workplane().box(40, 40, 10).faces(">Z").workplane().hole(20).val())
    rims = lengths(form, form.edges) - 8 * 40 - 4 * 10
    # Chords are shorter than their circle; 0.6 rad apart by 1.5 % at most.
    assert 0.985 * 2 * math.pi * 20 < rims < 2 * math.pi * 20
    assert len(form.soft) == 0


def test_where_a_roundover_begins_is_soft() -> None:
    form = forms.form_of(cq.Workplane().box(40, 40, 10).edges("|Z").fillet(5).val())
    # Four roundovers, each with two lines along and no sharp one.
    assert lengths(form, form.soft) == pytest.approx(8 * 10)
    arcs = lengths(form, form.edges) - 8 * 30
    assert arcs == pytest.approx(8 * math.pi / 2 * 5, rel=0.02)


@pytest.mark.parametrize("name", EXAMPLES)
def test_forms_are_the_solids(name: str) -> None:
    bed = good(name)
    for kind in bed.kinds:
        solid, form = bed.solids[kind], forms.form_of(bed.solids[kind])
        a, b, c = form.corners[form.triangles].transpose(1, 0, 2)
        crosses = np.cross(b - a, c - a)
        assert np.linalg.norm(crosses, axis=1).sum() / 2 == pytest.approx(solid.Area(), rel=0.01)
        volume = np.einsum("ij,ij->", a, crosses) / 6
        assert volume == pytest.approx(solid.Volume(), rel=0.01)
        # Shaded from outside: normals lean the way the triangles face.
        leaning = np.einsum("ij,ij->i", crosses, form.normals[form.triangles[:, 0]])
        sizes = np.linalg.norm(crosses, axis=1)
        assert (leaning > 0)[sizes > 1e-3].all()
        # Only on the small round corners of a leg is one as far as 30 degrees off.
        assert sizes[leaning > 0.9 * sizes].sum() > 0.99 * sizes.sum()


def test_packing_keeps_a_form_to_half_a_step() -> None:
    form = forms.form_of(good("campion").solids["head_leg_right"])
    record = forms.packed(form)
    again = forms.unpacked(json.loads(json.dumps(record)))
    step = np.array(record["size"]) / forms.STEPS
    assert (np.abs(again.corners - form.corners) <= 0.51 * step + 1e-4).all()
    assert step.max() < 0.03
    assert np.abs(again.normals - form.normals).max() < 0.005
    assert (again.triangles == form.triangles).all()
    assert (again.edges == form.edges).all()
    assert (again.soft == form.soft).all()


# --- apart, joints, checks -----------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_taken_apart_a_tenon_stays_between_its_board_and_its_leg(name: str) -> None:
    bed, boxes = good(name), matter(name).boxes
    moves = apart(bed.pieces, boxes)
    seen = 0
    for joint in board_joints(bed.layout):
        at = [
            boxes[piece].middle[0] + moves[piece][0]
            for piece in (joint.board, f"{joint.name}_right", f"{joint.leg}_right")
        ]
        assert at[0] < at[1] < at[2]
        seen += 1
    assert seen
    slat = moves["slat_01"][2]
    assert slat > moves["side_rail_right"][2] + 300


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_joint_is_where_its_two_pieces_meet(name: str) -> None:
    found = matter(name)
    names = {piece.name for piece in found.bed.pieces}
    assert {meeting.family for meeting in found.meetings} == {"tenon", "rail", "screw"}
    for meeting in found.meetings:
        assert set(meeting.pieces) <= names
        for piece in meeting.pieces[:2]:
            box = found.boxes[piece]
            reach = 2.0  # easing, and a yawed rail's box
            for at in meeting.at:
                assert all(
                    low - reach <= c <= high + reach
                    for low, c, high in zip(box.low, at, box.high, strict=True)
                ), (meeting, piece)


def test_joints_of_both_sides_are_told() -> None:
    found = matter("campion")
    tenons = [m for m in found.meetings if m.family == "tenon"]
    assert len(tenons) == 2 * len(list(board_joints(found.bed.layout)))
    assert sum(1 for m in found.meetings if m.family == "rail") == 4
    slats = [m for m in found.meetings if m.pieces[0].startswith("slat_")]
    assert len(slats) == 2 * found.bed.layout.slats.count


def test_every_check_can_be_shown() -> None:
    found = matter("campion")
    for result in found.results:
        show = found.shows[f"check-{int(result.code)}"]
        if result.tested:
            assert show.pieces or show.mattress
    assert found.shows[f"check-{int(Code.POCKET_TOO_SMALL)}"].mattress
    slats = found.shows[f"check-{int(Code.SLAT_GAPS_UNEQUAL)}"].pieces
    assert {name.rstrip("_0123456789") for name in slats} == {"slat"}


def test_what_joins_is_seen_through_what_it_is_in() -> None:
    found = matter("campion")
    titles = {"Loose tenon": "loose_tenon", "Hook plate": "plate"}
    seen = set()
    for meeting in found.meetings:
        inside = [name for name in meeting.pieces if name not in meeting.around]
        assert inside
        if meeting.title in titles:
            kinds = [found.bed.piece(name).kind.name for name in inside]
            assert all(titles[meeting.title] in kind for kind in kinds)
            seen.add(meeting.title)
    assert seen == set(titles)


def test_a_finding_is_shown_where_it_is() -> None:
    bed = moved(good("hawthorn", None, "slat.joint=loose"), "slat_03", (0.0, 0.0, -5.0))
    found = matter_of(bed)
    key = f"finding-{int(Code.PARTS_OVERLAP)}-0"
    show = found.shows[key]
    assert "slat_03" in show.pieces
    (spot,) = show.spots
    for name in show.pieces:
        box = found.boxes[name]
        assert all(
            a - 0.1 <= c <= b + 0.1 for a, c, b in zip(box.low, spot.at, box.high, strict=True)
        )
    text = report_html(found).decode()
    assert "checks failed" in text
    assert f'data-show="{key}"' in text


# --- the page ----------------------------------------------------------------------------


def test_the_policy_names_the_hash_of_each_script_and_style() -> None:
    tags = Tags(report_html(matter()).decode())
    (policy,) = (
        a["content"] for a in tags.of("meta") if a.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    assert "unsafe" not in policy
    data = [a for a in tags.of("script") if a]
    assert [a["type"] for a in data] == ["application/json"]
    scripts = [text for tag, text in tags.inside if tag == "script" and not text.startswith("{")]
    styles = [text for tag, text in tags.inside if tag == "style"]
    assert len(scripts) == len(page.SCRIPTS)

    def hashes(texts: list[str]) -> set[str]:
        digests = (hashlib.sha256(text.encode()).digest() for text in texts)
        return {f"'sha256-{base64.b64encode(d).decode()}'" for d in digests}

    assert set(rules["script-src"].split()) == hashes(scripts)
    assert set(rules["style-src"].split()) == hashes(styles)
    for _, attributes in tags.found:
        assert "style" not in attributes
        assert not any(name.startswith("on") for name in attributes)


def test_nothing_on_the_page_points_outside() -> None:
    tags = Tags(report_html(replace(matter(), files=frozenset({"model/bed.step"}))).decode())
    targets = [
        str(value)
        for _, attributes in tags.found
        for name, value in attributes.items()
        if name in ("src", "href", "action", "srcset", "data")
    ]
    assert "model/bed.step" in targets
    assert all(t.startswith(("#", "data:", "model/")) for t in targets)


def test_text_of_the_sheet_stays_text() -> None:
    bed = good("sorrel", None, f"design.title={HOSTILE}", f"design.note={HOSTILE}")
    found = matter_of(bed)
    chapter = Chapter(
        "strength", HOSTILE, HOSTILE, (Figure("<svg/>", HOSTILE),), (Remark(HOSTILE),)
    )
    text = report_html(replace(found, chapters=(chapter,))).decode()
    plain = Tags(report_html(matter("sorrel")).decode())
    tags = Tags(text)
    kinds = [tag for tag, _ in tags.found]
    assert kinds.count("script") == [tag for tag, _ in plain.found].count("script")
    assert kinds.count("img") == 2  # the still picture and the chapter's figure
    assert not any("onerror" in attributes for _, attributes in tags.found)
    assert HOSTILE in tags.said
    (record,) = (t for tag, t in tags.inside if tag == "script" and t.startswith("{"))
    assert "<" not in record
    assert json.loads(record) == json.loads(json.dumps(script_data(found) | {
        "shows": json.loads(record)["shows"]}))  # fmt: skip


def test_no_text_can_end_a_block_of_data() -> None:
    told = ["</script>", "<!--<script>", "]]>", "&lt;", "\u2028\u2029", "é ½"]
    block = data_block("some", told)
    inside = block.partition(">")[2].rpartition("</script>")[0]
    assert not set(inside) & set("<>&\u2028\u2029")
    assert json.loads(inside) == told


def test_the_page_tells_it_all_without_a_script() -> None:
    found = matter("campion")
    said = Tags(report_html(found).decode()).said
    sheet = found.bed.layout.sheet
    assert sheet.design.title in said
    assert size(*found.bed.layout.overall) in said
    assert f"{found.tested} of {found.tested} checks passed" in said
    for result in found.results:
        assert result.title in said
    for item in found.cuts.items:
        assert size(item.length, item.width, item.thickness) in said
    assert "Adult low beds only" in said


def test_each_kind_tells_where_it_is_in_the_cut_list() -> None:
    found = matter("campion")
    text = report_html(found).decode()
    for kind in script_data(found)["kinds"]:
        if kind["metal"]:
            assert kind["row"] is None
            continue
        assert found.cuts.items[kind["row"] - 1].kinds.count(kind["name"]) == 1
        assert f'id="cut-{kind["row"]}"' in text


def test_boards_are_there_when_a_plan_is_given() -> None:
    found = matter("campion")
    assert 'id="boards"' not in report_html(found).decode()
    rack = read_rack(shared_folder() / "boards.csv")
    plan = plan_for_shop(rack, found.cuts, found.bed.pieces, load_profile(None), "wood")
    with_plan = replace(found, plan=plan)
    tags = Tags(report_html(with_plan).decode())
    placed = [p.name for g in plan.plan.classes for c in g.boards for p in c.placed]
    drawn = [a["data-item"] for a in tags.of("g") if a.get("class") == "cut"]
    assert sorted(map(str, drawn)) == sorted(placed)
    anchors = {a["id"] for a in tags.of("figure") if "id" in a}
    for kind in script_data(with_plan)["kinds"]:
        assert {f"board-{name}" for name in kind["boards"]} <= anchors
    assert any(kind["boards"] for kind in script_data(with_plan)["kinds"])


def test_chapters_from_outside_are_shown_only_when_given() -> None:
    drawing = '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
    chapter = Chapter(
        "strength", "Strength", "How far it bends.", (Figure(drawing, "a slat, loaded"),),
        (Remark("slats bend 2 mm", True, ("slat",)), Remark("told only")),
    )  # fmt: skip
    assert 'id="strength"' not in report_html(matter("sorrel")).decode()
    found = replace(matter("sorrel"), chapters=(chapter,))
    text = report_html(found).decode()
    assert 'id="strength"' in text
    assert 'href="#strength"' in text
    assert "<script>alert" not in text  # it is a picture, in which nothing runs
    assert base64.b64encode(drawing.encode()).decode() in text
    assert len(found.shows["strength-0"].pieces) == found.bed.layout.slats.count
    assert "strength-1" not in found.shows


def test_the_same_bytes_and_under_the_limit() -> None:
    # 1.5 MB with a still picture of 60 kB to come
    first = report_html(matter("campion"))
    assert first == report_html(matter_of(good("campion")))
    assert len(first) < 1_440_000


def test_names_are_read_as_a_person_says_them() -> None:
    assert titled("slat_03") == "Slat 3"
    assert titled("head_leg_left") == "Head leg, left"
    assert titled("headboard_board_2_tenon_1_right") == "Headboard board 2 tenon 1, right"
    assert titled("left") == "Left"


# --- what is vendored --------------------------------------------------------------------


def test_the_vendored_library_is_as_it_was_built() -> None:
    record = json.loads((VENDOR / "BUILT.json").read_text("utf-8"))
    assert {"three.js", "entry.js", "build.mjs", "LICENSE-three.txt"} == set(record["sha256"])
    for name, digest in record["sha256"].items():
        data = (VENDOR / name).read_bytes().replace(b"\r\n", b"\n")
        assert hashlib.sha256(data).hexdigest() == digest, f"{name}: build it anew, see build.mjs"
    assert "MIT License" in (VENDOR / "LICENSE-three.txt").read_text("utf-8")
    build = (VENDOR / "build.mjs").read_text("utf-8")
    assert f"three@{record['version']}" in build
    assert record["bundler"].replace(" ", "@") in build


def test_the_scripts_use_only_what_the_bundle_gives() -> None:
    import re

    given = set(re.findall(r"\b[A-Z]\w+(?=[,\s}])", (VENDOR / "entry.js").read_text("utf-8")))
    used = set(re.findall(r"THREE\.(\w+)", page.SCRIPTS[1].read_text("utf-8")))
    assert used
    assert used <= given


# --- where it is put ---------------------------------------------------------------------


def test_put_beside_the_files_of_a_build(tmp_path: Path) -> None:
    bed = good("sorrel")
    told: list[frozenset[str]] = []

    def page_of(files: frozenset[str]) -> bytes:
        told.append(files)
        return b"page %d" % len(told)

    path = put_report(bed, tmp_path, page_of)
    assert path.read_bytes() == b"page 1"
    assert told[0] == {"manifest.json"}
    (path.parent / "parts.json").write_text("{}", "utf-8")
    put_report(bed, tmp_path, page_of)
    assert path.read_bytes() == b"page 2"
    assert told[1] == {"manifest.json", "parts.json"}
    manifest = json.loads((path.parent / "manifest.json").read_text("utf-8"))
    listed = {file["path"]: file["sha256"] for file in manifest["files"]}
    assert listed["report.html"] == hashlib.sha256(b"page 2").hexdigest()
    assert "parts.json" in listed
    other = good("sorrel", None, "slat.thickness=21 mm")
    with pytest.raises(WriteError, match="other values of the sheet"):
        put_report(other, tmp_path, page_of)
    assert path.read_bytes() == b"page 2"
    (path.parent / "parts.json").unlink()
    assert put_report(other, tmp_path, page_of).read_bytes() == b"page 3"  # nothing to disagree


def test_the_verb_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", "sorrel", "--out", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    path = Path(told["report"])
    assert path.name == "report.html"
    assert told["bytes"] == path.stat().st_size < 1_500_000
    tags = Tags(path.read_text("utf-8"))
    (still,) = (a for a in tags.of("img") if a.get("class") == "still")
    data = base64.b64decode(str(still["src"]).partition(",")[2])
    assert Image.open(io.BytesIO(data)).size == page.PICTURE


def test_the_verb_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", "sorrel", "--rack", str(tmp_path / "none.csv")]) == 2
    assert "none.csv" in capsys.readouterr().err


def test_examples_can_be_read_back() -> None:
    sheet = load_sheet("sorrel")
    assert sheet.design.title in report_html(matter("sorrel")).decode()
