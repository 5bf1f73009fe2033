"""Jigs take the router bits and bushings that the shop has, and refuse what it has not."""

from __future__ import annotations

from pathlib import Path

import pytest

from bedmodel.cli import main
from bedmodel.cutters import bits, bushings
from bedmodel.errors import InputError
from bedmodel.pieces import make_pieces
from bedmodel.sheets import load_sheet, shared_folder
from bedmodel.shop.jigs.bed_jigs import make_jigs
from bedmodel.shop.jigs.jig import Jig, check_jigs
from bedmodel.shop.jigs.on_hand import on_hand
from bedmodel.shop_profile import Racks, ShopProfile, load_profile
from bedmodel.skeleton import lay_out

SOME = ("straight-1-4-x-1-in", "straight-3-8-x-1-in", "pattern-1-2-x-1-in")


def jigs(name: str, shop: ShopProfile | None, *changes: str) -> tuple[Jig, ...]:
    layout = lay_out(load_sheet(name, changes=changes))
    return make_jigs(layout, make_pieces(layout), shop)


def shop(bits: tuple[str, ...] = SOME, bushings: tuple[str, ...] = ()) -> ShopProfile:
    return ShopProfile(router=Racks(bits=bits, bushings=bushings))


def cutters(found: tuple[Jig, ...]) -> set[tuple[str, float]]:
    """Guide style and diameter of every cutter that a jig is made for."""
    return {(cut.cutter.style, round(cut.cutter.diameter, 4)) for jig in found for cut in jig.cuts}


@pytest.mark.parametrize("name", ["campion", "hawthorn", "sorrel"])
def test_only_bits_on_hand_are_taken(name: str) -> None:
    mine = {round(bits()[each].diameter, 4) for each in SOME}
    found = jigs(name, shop())
    assert {diameter for _, diameter in cutters(found)} <= mine
    assert ("bearing", 12.7) in cutters(found)
    assert all(passed for _, _, passed in check_jigs(found))
    # Without a shop it is not so, or this would say nothing.
    assert not {diameter for _, diameter in cutters(jigs(name, None))} <= mine


def test_only_bushings_on_hand_are_taken() -> None:
    guides = {
        round(cut.cutter.guide, 3)
        for jig in jigs("campion", shop(bushings=("3/4 in",)))
        for cut in jig.cuts
        if cut.cutter.style == "bushing"
    }
    assert guides == {round(bushings()["3-4-in"].outer, 3)}


def test_what_the_file_does_not_list_is_all_there() -> None:
    both = on_hand(shop(bits=(), bushings=("5/8 in",)))
    assert (set(both.bits), set(both.bushings)) == (set(bits()), {"5-8-in"})
    assert not both.own_bits


@pytest.mark.parametrize(
    ("has", "changes", "told"),
    [
        (
            shop(bits=("straight-3-8-x-1-in",)),
            (),
            r"router\.template_bit = none: no pattern bit on hand in the shop would follow",
        ),
        (
            shop(bits=("straight-3-4-x-1-1-2-in", "pattern-1-2-x-1-in")),
            (),
            r"router\.mortise_bit = none: no straight bit on hand in the shop is as narrow as the "
            r"mortises.*add one to router\.bits",
        ),
        (
            shop(bushings=("5-16-in",)),
            (),
            "that passes one of its bushings is as narrow as",
        ),
        (
            shop(),
            ("router.mortise_bit=straight-5-16-x-1-in",),
            r"router\.mortise_bit = straight-5-16-x-1-in: is not on hand in the shop; its "
            r"router\.bits are straight-1-4",
        ),
        (
            shop(bushings=("5/8 in",)),
            ("router.bushing=3/4 in",),
            r"router\.bushing = 3-4-in: is not on hand in the shop; its router\.bushings are 5-8",
        ),
    ],
)
def test_what_is_not_on_hand_is_refused(
    has: ShopProfile, changes: tuple[str, ...], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        jigs("campion", has, *changes)


def test_a_name_of_no_table_is_refused_when_the_file_is_read(tmp_path: Path) -> None:
    for line, told in (
        ('bits = ["straight-1-4"]', "router.bits"),
        ('bushings = ["4 in"]', "router.bushings"),
    ):
        path = tmp_path / "shop.toml"
        path.write_text(f"[router]\n{line}\n", "utf-8")
        with pytest.raises(InputError, match=rf"{told}.*is not in the table"):
            load_profile(str(path))


def test_the_verb_takes_the_shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shop.toml"
    path.write_text('[router]\nbits = ["straight-3-8-x-1-in"]\n', "utf-8")
    out = str(tmp_path / "out")
    assert main(["jigs", "sorrel", "--shop", str(path), "--out", out]) == 2
    assert "no pattern bit on hand" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_example_shop_can_make_every_example() -> None:
    example = load_profile(str(shared_folder() / "shop.toml"))
    for name in ("campion", "hawthorn", "sorrel"):
        for joint in ("loose_tenon", "tenon"):
            for rail in ("hook_plates", "brackets", "bolts"):
                changes = (
                    f"headboard.joint={joint}",
                    f"footboard.joint={joint}",
                    f"side_rail.joint={rail}",
                )
                assert jigs(name, example, *changes)
