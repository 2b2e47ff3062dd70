"""What a day can hold: counted within all rules, the same on a longer run of days, less where something is short."""

from dataclasses import replace

import pytest

from tests.small_yard import small_problem, small_yard
from yardplan.domain.quotes import Limit
from yardplan.solve.season import Filler


def test_a_day_holds_as_many_as_each_of_many_days_on_end():
    few, many = (Filler(small_problem(days=days)).output("TANK", warm_up_days=1).pieces for days in (2, 9))
    assert few == pytest.approx(many, rel=0.1)
    assert few > 2


def test_pieces_of_units_add_up():
    output = Filler(small_problem(small_yard(2), days=3)).output("BIN", warm_up_days=1)
    assert sum(output.by_unit.values()) == pytest.approx(output.pieces)
    assert set(output.by_unit) == {"U1", "U2"}


def test_with_one_mold_the_mold_limits_and_stock_counts_nothing():
    yard = small_yard(2)
    yard = replace(yard, items=tuple(replace(item, on_hand=0.0) for item in yard.items))
    filler = Filler(small_problem(yard, (), days=3))
    pieces = filler.output("TANK", warm_up_days=1).pieces
    assert pieces > 0
    assert filler.limit("TANK", pieces, warm_up_days=1) is Limit.MOLD
