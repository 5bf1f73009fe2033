"""From the cut list to what the board plan is asked for: rough parts, and panels of staves."""

from __future__ import annotations

from collections.abc import Iterator

from bedmodel.shop_profile import ShopProfile
from bedmodel.stock.cut_list import CutItem, CutList
from bedmodel.stock.demand import Demand, PanelDemand, PartDemand


def demands(cuts: CutList, shop: ShopProfile) -> list[Demand]:
    """Every row of the cut list that is sawn straight out of lumber, the longest parts first.

    Legs of a shaped outline are not among them: the nest lays them on planks.
    """
    straight = [item for item in cuts.lumber if not item.nested]
    found = [demand for item in straight for demand in _demands(item, shop)]
    return sorted(found, key=lambda demand: (-demand.length, demand.name))


def _demands(item: CutItem, shop: ShopProfile) -> Iterator[Demand]:
    assert item.lumber is not None
    quarters = item.lumber.quarters_count
    if item.staves is not None:
        yield PanelDemand(
            name=item.name,
            count=item.rough_count,
            length=item.rough_length,
            width=item.rough_width,
            quarters_count=quarters,
            stave_least=shop.stave_least,
            stave_most=shop.stave_most,
            joint_loss=shop.glue_up.joint,
            species=item.species,
        )
        return
    yield PartDemand(
        name=item.name,
        count=item.rough_count,
        length=item.rough_length,
        width=item.rough_width,
        quarters_count=quarters,
        species=item.species,
    )
