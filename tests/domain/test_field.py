from itertools import pairwise
from math import atan2, degrees, hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yardplan.domain.errors import InvalidField
from yardplan.domain.field import field_rows

FORTY_EIGHT = {
    "mirrors": 48, "first_m": 14, "row_gap_m": 4, "spacing_m": 2.6, "half_arc_deg": 80, "up_m": 1.3,
    "width_m": 1.22, "height_m": 1.83, "reflectance_frac": 0.93, "row_rise_m": 1.0,
}  # fmt: skip


def gap_m(one, two):
    return hypot(one.east_m - two.east_m, one.north_m - two.north_m, one.up_m - two.up_m)


def test_rows_are_arcs_of_mirrors_each_behind_a_gap():
    field = field_rows(**FORTY_EIGHT)
    rows = {}
    for mirror in field:
        radius_m = round(hypot(mirror.east_m, mirror.north_m))
        rows.setdefault((radius_m, mirror.up_m), []).append(degrees(atan2(mirror.east_m, mirror.north_m)))
    assert list(rows) == [(14, 1.3), (18, 2.3), (22, 3.3), (26, 4.3)]
    assert [len(row) for row in rows.values()] == [16, 15, 16, 1]
    first, second, third, last = (sorted(row) for row in rows.values())
    between = [(one + two) / 2 for one, two in pairwise(first)]
    assert second == pytest.approx(between, abs=0.05)
    assert third == pytest.approx(first, abs=0.05)
    assert abs(last[0]) < 6  # what is left stands in the middle
    assert max(first) <= 80
    assert gap_m(field[0], field[1]) == pytest.approx(2.6, abs=0.01)


def test_a_field_may_lie_on_any_side():
    south = field_rows(**FORTY_EIGHT | {"azimuth_deg": 180})
    mirrored = [(mirror.east_m, -mirror.north_m) for mirror in field_rows(**FORTY_EIGHT)]
    places = sorted((mirror.east_m, mirror.north_m) for mirror in south)
    assert [at for pair in places for at in pair] == pytest.approx([at for pair in sorted(mirrored) for at in pair])


@given(
    mirrors=st.integers(1, 130), first_m=st.floats(4, 40), row_gap_m=st.floats(0.5, 6), spacing_m=st.floats(1, 6),
    half_arc_deg=st.floats(0, 180), row_rise_m=st.floats(0, 2), size_m=st.floats(0.2, 3),
)  # fmt: skip
def test_mirrors_that_are_laid_out_can_turn(mirrors, first_m, row_gap_m, spacing_m, half_arc_deg, row_rise_m, size_m):
    try:
        field = field_rows(
            mirrors, first_m, row_gap_m, spacing_m, half_arc_deg, 1.3, size_m, size_m, 0.9, row_rise_m=row_rise_m
        )
    except InvalidField:
        return
    assert len(field) == mirrors
    apart_m = [gap_m(one, two) for at, one in enumerate(field) for two in field[:at]]
    assert min(apart_m, default=99) >= size_m * 2**0.5 - 0.02  # places are to a centimeter


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"spacing_m": 2.0}, "spacing_m is 2.0; expected more, for mirrors 2.00 m apart touch"),
        ({"row_gap_m": 1.0, "row_rise_m": 0}, "row_gap_m is 1.0; expected more"),
        ({"mirrors": 0}, "mirrors is 0; expected a number from 1 to 1000"),
        ({"first_m": 1, "spacing_m": 2.6}, "less than twice first_m, which is 1"),
        ({"row_gap_m": 100, "mirrors": 500}, "expected a number from -500 to 500"),
    ],
)
def test_what_cannot_be_laid_out_is_told(change, told):
    with pytest.raises(InvalidField, match=told):
        field_rows(**FORTY_EIGHT | change)
