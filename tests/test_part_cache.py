"""Kept parts: found again by their shape, made anew when spoilt, bounded, safe at once."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest

from bedmodel import part_cache
from bedmodel.bed import Kind, Piece
from bedmodel.cuts import Mortise, slot
from bedmodel.exports.report.forms import form_of
from bedmodel.frames import Frame
from bedmodel.live.rebuild import form_bytes, form_from
from bedmodel.part_cache import PartFolder, kept_solids, name_of, solid_bytes, solid_of, solids_of
from bedmodel.shape import Shape

OUTLINE = slot(100.0, 20.0, "square").mapped(lambda p: (p[0] + 50, p[1] + 10))


def shape(depth: float = 8.0, name: str = "hole") -> Shape:
    cut = Mortise(name, Frame.from_zx((30.0, 10.0, 15.0), (0, 0, -1.0), (1.0, 0, 0)), 12, 6, depth)
    return Shape(100.0, 20.0, 15.0, OUTLINE, cuts=(cut,))


def pieces(*shapes: Shape) -> tuple[Piece, ...]:
    kinds = [Kind(f"part_{i}", each, "white-ash") for i, each in enumerate(shapes)]
    return tuple(Piece(kind.name, kind, "rails", Frame()) for kind in kinds)


def volumes(found: dict[str, cq.Solid]) -> list[float]:
    return [round(solid.Volume(), 6) for solid in found.values()]


def test_names_follow_the_form_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    assert name_of(shape()) == name_of(shape(name="another"))
    assert name_of(shape()) != name_of(shape(depth=8.001))
    assert name_of(shape()) != name_of(replace(shape(), face="xz"))
    before = name_of(shape())
    monkeypatch.setattr(part_cache, "_makers", lambda: b"another kernel")
    assert name_of(shape()) != before


def test_only_what_is_new_is_made(tmp_path: Path) -> None:
    kept = kept_solids(PartFolder(tmp_path))
    one = solids_of(pieces(shape(), shape(5.0)), kept)
    assert kept.made == 2
    two = solids_of(pieces(shape(6.0), shape()), kept)
    assert kept.made == 3
    assert two["part_1"] is one["part_0"]
    later = kept_solids(PartFolder(tmp_path))
    three = solids_of(pieces(shape(), shape(5.0)), later)
    assert later.made == 0
    assert volumes(three) == volumes(one)
    assert all(solid.isValid() for solid in three.values())


@pytest.mark.parametrize("folder", [None, "/proc/no/such/folder"])
def test_it_works_without_a_folder_that_can_be_written(folder: str | None) -> None:
    kept = kept_solids(None if folder is None else PartFolder(Path(folder)))
    for _ in range(2):
        assert len(solids_of(pieces(shape()), kept)) == 1
    assert kept.made == 1


def _cut_short(data: bytes) -> bytes:
    return data[: len(data) // 2]


def _flipped(data: bytes) -> bytes:
    return data[:-9] + bytes([data[-9] ^ 1]) + data[-8:]


def _of_another(data: bytes) -> bytes:
    """Whole and with a right hash, but no solid: as if a file of ours were renamed."""
    import hashlib

    body = solid_bytes(cq.Workplane().box(1, 1, 1).faces(">Z").val())  # type: ignore[arg-type]
    return b"bedmodel part 1\n" + hashlib.sha256(body).digest() + body


@pytest.mark.parametrize(
    "spoil",
    [_cut_short, _flipped, _of_another, lambda data: b"", lambda data: b"not ours\n" * 40],
    ids=["cut short", "one bit", "a face", "empty", "foreign"],
)
def test_spoilt_files_are_made_anew(spoil: object, tmp_path: Path) -> None:
    solids_of(pieces(shape()), kept_solids(PartFolder(tmp_path)))
    (path,) = tmp_path.iterdir()
    good = path.read_bytes()
    path.write_bytes(spoil(good))  # type: ignore[operator]
    kept = kept_solids(PartFolder(tmp_path))
    (solid,) = solids_of(pieces(shape()), kept).values()
    assert kept.made == 1
    assert solid.Volume() == pytest.approx(100 * 20 * 15 - 8 * (6 * 6 + np.pi * 9), rel=1e-9)
    assert path.read_bytes() == good


def test_a_folder_in_a_files_place_does_no_harm(tmp_path: Path) -> None:
    (tmp_path / f"{name_of(shape())}.solid").mkdir()
    kept = kept_solids(PartFolder(tmp_path))
    assert len(solids_of(pieces(shape()), kept)) == 1


def test_the_longest_unused_go_first_and_only_our_own(tmp_path: Path) -> None:
    folder = PartFolder(tmp_path, most_bytes=3000)
    names = [f"{i:064x}" for i in range(5)]
    for i, name in enumerate(names):
        folder.write(name, "solid", bytes(900))
        os.utime(tmp_path / f"{name}.solid", (1000.0 + i, 1000.0 + i))
    assert folder.read(names[0], "solid") == bytes(900)  # used just now
    foreign = tmp_path / "notes.txt"
    foreign.write_bytes(bytes(5000))
    left_over = tmp_path / f".{names[1]}.solid.77-0a0b0c0d"
    left_over.write_bytes(b"half")
    fresh = tmp_path / f".{names[1]}.solid.78-0a0b0c0d"
    fresh.write_bytes(b"half")
    os.utime(left_over, (time.time() - 7200,) * 2)
    folder.trim()
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {f"{n}.solid" for n in (names[0], names[3], names[4])} | {
        "notes.txt", fresh.name}  # fmt: skip


def test_memory_is_bounded_too() -> None:
    kept = part_cache.Kept("solid", solid_bytes, solid_of, None, most_held=2)
    for depth in (5.0, 6.0, 7.0, 5.0):
        solids_of(pieces(shape(depth)), kept)
    assert kept.made == 4


def test_two_runs_at_once_share_a_folder(tmp_path: Path) -> None:
    """And give a shape one name, though each orders its sets of words by its own chance."""
    script = """
import sys
from pathlib import Path
from tests.test_part_cache import *
for round in range(8):
    kept = kept_solids(PartFolder(Path(sys.argv[1]), most_bytes=9000))
    found = solids_of(pieces(*(shape(3.0 + i) for i in range(4))), kept)
    assert [s.isValid() for s in found.values()] == [True] * 4
    PartFolder(Path(sys.argv[1]), most_bytes=9000).trim()
print(name_of(shape()))
"""
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", script, str(tmp_path)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).parent.parent,
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed in ("1", "2")
    ]
    told = [run.communicate(timeout=120)[0].strip() for run in runs]
    assert [run.returncode for run in runs] == [0, 0]
    assert set(told) == {name_of(shape())}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_facets_come_back_as_they_were() -> None:
    form = form_of(cq.Workplane().box(10, 20, 30).edges("|Z").fillet(2).val())  # type: ignore[arg-type]
    again = form_from(form_bytes(form))
    assert again is not None
    for name in ("corners", "normals", "triangles", "edges", "soft"):
        assert np.array_equal(getattr(again, name), getattr(form, name))
    assert form_from(form_bytes(form)[:-30]) is None
    assert form_from(b"") is None
