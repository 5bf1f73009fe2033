"""Build one bed into its folder: model, templates, records; whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bedmodel.assembly import Bed, make_bed
from bedmodel.bed import Kind, Piece
from bedmodel.build_groups import ALL
from bedmodel.checks.finding import Result
from bedmodel.checks.run import run_checks
from bedmodel.exports.jig_files import write_jigs
from bedmodel.exports.json_text import json_bytes
from bedmodel.exports.looks import looks_of
from bedmodel.exports.mesh import glb_bytes, mesh_of, placed_meshes, stl_bytes
from bedmodel.exports.paper.sheet import usual_paper
from bedmodel.exports.publish import MANIFEST, fresh_folder, write_bytes, write_text
from bedmodel.exports.reckoning_files import write_reckoning
from bedmodel.exports.records import (
    checks_record,
    folder_files,
    manifest_record,
    parts_record,
)
from bedmodel.exports.shop_files import Workshop, write_shop
from bedmodel.exports.step import step_bytes, step_bytes_of_kind
from bedmodel.exports.template import dxf_bytes, leg_template, legend_text, read_outline
from bedmodel.exports.working import Working
from bedmodel.sheets import folder_name
from bedmodel.shop.jigs.legs import face_up
from bedmodel.shop_profile import load_profile
from bedmodel.solids import SolidFailed
from bedmodel.spec import Sheet

Say = Callable[[str], None]
About = Callable[[Bed, Sequence[Result], Path], dict[str, Any]]


@dataclass(frozen=True)
class Built:
    """What a build made: the bed, what its checks saw, and where its files are."""

    bed: Bed
    results: tuple[Result, ...]
    folder: Path
    files: int

    @property
    def passed(self) -> bool:
        return all(result.passed for result in self.results)


def build(
    sheet: Sheet,
    out: Path,
    say: Say = lambda text: None,
    workshop: Workshop | None = None,
    only: frozenset[str] = ALL,
    about: About | None = None,
) -> Built:
    """Build, check and write the bed of a sheet to ``out``/<name>-<size>.

    ``only`` are groups of files, of ``build_groups.GROUPS``; the records of parts and checks are
    always written. What ``about`` says of the finished folder stands in the manifest as "pack".
    Raises InputError, WriteError, SolidFailed; then nothing in ``out`` has
    changed.
    """
    workshop = workshop or Workshop(load_profile(None))
    say("making the parts")
    bed = make_bed(sheet)
    working = Working(bed, workshop, say)
    if only & {"plan", "report"}:
        working.begin_picture()
    say("checking that they fit")
    results = run_checks(bed)
    name = folder_name(sheet)
    with fresh_folder(out, name) as folder:
        if "model" in only:
            write_model(bed, folder, say)
        if "templates" in only:
            write_templates(bed, folder, say)
        if "jigs" in only:
            say("writing jigs")
            write_jigs(bed.layout, bed.pieces, folder, workshop.cutters_of)
        if "shop" in only:
            say("writing shop papers")
            write_shop(bed.layout, bed.pieces, workshop.shop, working.cuts, working.plan, folder)
        if "strength" in only:
            say("reckoning strength")
            write_reckoning(bed.layout, working.strength, folder)
        write_bytes(folder / "parts.json", json_bytes(parts_record(bed)))
        write_bytes(folder / "checks.json", json_bytes(checks_record(results)))
        if only & {"drawings", "plan"}:
            write_papers(working, results, folder, only)
        if "report" in only:
            write_report(working, results, folder)
        told = {"pack": about(bed, results, folder)} if about else {}
        files = folder_files(folder)
        write_bytes(folder / MANIFEST, json_bytes(manifest_record(bed, files) | told))
    return Built(bed, results, out / name, len(files) + 1)


def write_model(bed: Bed, folder: Path, say: Say) -> None:
    """STEP of the bed and of each kind; STL of each kind and of the bed; GLB."""
    looks = looks_of(bed)
    say("writing STEP")
    step = step_bytes(bed.name, bed.pieces, bed.solids, looks)
    write_bytes(folder / "model" / "bed.step", step)
    for kind in bed.kinds.values():
        data = step_bytes_of_kind(kind, bed.solids[kind.name], looks[kind.species])
        write_bytes(folder / "model" / "parts" / f"{kind.name}.step", data)
    say("writing STL and GLB")
    meshes = {name: mesh_of(bed.solids[name]) for name in bed.kinds}
    for name, mesh in meshes.items():
        write_bytes(folder / "model" / "stl" / f"{name}.stl", stl_bytes(mesh, name))
    placed = placed_meshes(bed.pieces, meshes)
    write_bytes(folder / "model" / "stl" / "bed.stl", stl_bytes(placed, bed.name))
    write_bytes(folder / "model" / "bed.glb", glb_bytes(bed.name, bed.pieces, meshes, looks))


def write_papers(
    working: Working, results: Sequence[Result], folder: Path, only: frozenset[str]
) -> None:
    """The drawings and the plan book, on the paper that goes with the sheet's unit."""
    from bedmodel.book.book import plan_pdf
    from bedmodel.book.gather import gathered
    from bedmodel.drawing.book import make_drawings
    from bedmodel.drawing.files import write_drawings

    bed, say = working.bed, working.say
    paper = usual_paper(bed.layout.sheet.design.unit)
    if "plan" not in only:
        write_drawings(make_drawings(bed, paper.name, say), folder / "drawings", say)
        return
    contents, drawings = gathered(working, results, paper)
    say("laying out the plan book")
    write_bytes(folder / "plan.pdf", plan_pdf(contents))
    if "drawings" in only:
        write_drawings(drawings, folder / "drawings", say)


def write_report(working: Working, results: Sequence[Result], folder: Path) -> None:
    """The page to look at, linked to the files that are in the folder by now."""
    from bedmodel.exports.report.gather import gather
    from bedmodel.exports.report.page import report_html
    from bedmodel.exports.report.put import REPORT

    files = frozenset(folder_files(folder)) | {MANIFEST}
    write_bytes(folder / REPORT, report_html(gather(working, results, files)))


def write_templates(bed: Bed, folder: Path, say: Say) -> None:
    """A routing template and its legend for each kind of leg, read back and compared.

    Raises SolidFailed when a template read back is not the leg's own outline.
    """
    say("writing templates")
    for kind in legs(bed):
        template = leg_template(
            kind, title_lines=_title(bed, kind), face_up=face_up(_first(bed, kind))
        )
        data = dxf_bytes(template)
        if read_outline(data).canonical() != kind.shape.outline.canonical():
            raise SolidFailed(f"{kind.name}: the template read back differs from the leg")
        # The unit is in the name, since DXF readers may ignore the one in the file.
        write_bytes(folder / "templates" / f"{kind.name}_mm.dxf", data)
        write_text(folder / "templates" / f"{kind.name}_legend.txt", legend_text(template))


def legs(bed: Bed) -> list[Kind]:
    """The kinds of leg, in the order of the bed."""
    return [kind for name, kind in bed.kinds.items() if name.startswith(("head_leg", "foot_leg"))]


def _title(bed: Bed, kind: Kind) -> list[str]:
    sheet = bed.layout.sheet
    words = kind.name.replace("_", " ")
    sizes = " x ".join(sheet.show(side) for side in kind.shape.blank)
    return [f"{sheet.design.title}", f"{words}, {_count(bed, kind)} off", sizes]


def _first(bed: Bed, kind: Kind) -> Piece:
    return next(piece for piece in bed.pieces if piece.kind is kind)


def _count(bed: Bed, kind: Kind) -> int:
    return sum(1 for piece in bed.pieces if piece.kind is kind)
