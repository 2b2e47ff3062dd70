from dataclasses import replace

import numpy as np
import pytest

from tests.small_yard import MONDAY, TZ, hand_made_cook, small_yard
from yardplan.cycle.table import cook_table
from yardplan.cycle.windows import windows
from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable

GRID = SlotGrid.of_days(MONDAY, 1, TZ)


def test_of_two_molds_the_one_that_allows_more_cooks_counts():
    yard = small_yard()
    tank = replace(yard.products[0], mold_ids=("M1", "M2"))
    yard = replace(yard, products=(tank, yard.products[1]))
    cook = hand_made_cook(yard, GRID)
    slower = cook.cook_slots.copy()
    slower[:, 0] *= 2
    (window, _) = windows(yard, replace(cook, cook_slots=slower), 0.8)
    assert (window.product_id, window.mold_id) == ("TANK", "M2")
    with pytest.raises(InvalidField, match="confidence"):
        windows(yard, cook, 0.7)


def test_a_cook_follows_as_soon_as_the_one_before_is_over():
    yard = small_yard()
    cook = hand_made_cook(yard, GRID)
    slots = np.zeros_like(cook.cook_slots)
    slots[..., 100:191] = 10
    (tank, _) = windows(yard, replace(cook, cook_slots=slots), 0.8)
    assert (tank.first_slot, tank.last_slot, tank.cooks) == (100, 190, 10)  # at 100, 110 ... 190


def test_a_share_that_lands_may_differ_from_slot_to_slot():
    """Half the share in the afternoon is half the heat in the afternoon, and nothing else."""
    yard = small_yard()
    kw = np.full((3, 1, GRID.n_slots), 45.0)
    flat = np.full((3, GRID.n_slots), 20.0)
    heat = HeatTable(GRID, ("U1",), kw, flat, flat * 0, flat, flat, np.full(GRID.n_slots, 45.0), "made", None, 0)
    afternoon = np.where(np.arange(GRID.n_slots) < 150, 0.9, 0.45)
    halved = replace(heat, field_kw=kw * afternoon / 0.9)
    by_share = cook_table(yard, heat, np.broadcast_to(afternoon, (2, 1, GRID.n_slots)))
    by_heat = cook_table(yard, halved, np.full((2, 1), 0.9))
    plain = cook_table(yard, heat, np.full((2, 1), 0.9))
    assert np.array_equal(by_share.cook_slots, by_heat.cook_slots)
    assert np.array_equal(by_share.cook_slots[..., :130], plain.cook_slots[..., :130])
    assert not np.array_equal(by_share.cook_slots, plain.cook_slots)
