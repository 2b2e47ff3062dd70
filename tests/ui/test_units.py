"""Units against published factors. Source: NIST SP 811 (2008), appendix B: lb, ft, in, mile, gallon are exact."""

import pytest
from PySide6.QtCore import QLocale

from yardplan.ui.units import Quantity, Units, choose_units, is_us, measured_text, to_shown, to_stored, unit_sign


@pytest.fixture(autouse=True)
def us_units():
    choose_units(Units.US)
    yield
    choose_units(Units.REGION)


@pytest.mark.parametrize(
    ("quantity", "metric", "us"),
    [
        (Quantity.TEMPERATURE, 180.0, 356.0),
        (Quantity.TEMPERATURE, -40.0, -40.0),
        (Quantity.TEMPERATURE, 0.0, 32.0),
        (Quantity.DIFFERENCE, 5.0, 9.0),
        (Quantity.MASS, 0.45359237, 1.0),
        (Quantity.LENGTH, 0.3048, 1.0),
        (Quantity.WALL, 25.4, 1.0),
        (Quantity.AREA, 0.09290304, 1.0),
        (Quantity.VOLUME, 3.785411784, 1.0),
        (Quantity.SPEED, 1609.344 / 3600, 1.0),
        (Quantity.HEAT_FOR_MASS, 1.0, 0.45359237),
    ],
)
def test_values_agree_with_published_factors_and_come_back(quantity, metric, us):
    assert to_shown(quantity, metric) == pytest.approx(us, rel=1e-12)
    assert to_stored(quantity, us) == pytest.approx(metric, rel=1e-12)


def test_a_hundred_changes_of_units_leave_a_value_as_it_is():
    value = 180.0
    for _ in range(100):
        choose_units(Units.US)
        shown = to_shown(Quantity.TEMPERATURE, value)
        assert shown == pytest.approx(356.0, abs=1e-9)
        value = to_stored(Quantity.TEMPERATURE, shown)
        choose_units(Units.METRIC)
        value = to_stored(Quantity.TEMPERATURE, to_shown(Quantity.TEMPERATURE, value))
    assert value == pytest.approx(180.0, abs=1e-9)


def test_units_go_with_the_region_where_nothing_is_chosen():
    choose_units(Units.REGION)
    QLocale.setDefault(QLocale(QLocale.Language.English, QLocale.Country.UnitedStates))
    assert is_us()
    QLocale.setDefault(QLocale(QLocale.Language.Spanish, QLocale.Country.Spain))
    assert not is_us()
    assert measured_text(Quantity.TEMPERATURE, 20.5, 1) == "20,5 °C"
    choose_units(Units.US)
    assert measured_text(Quantity.TEMPERATURE, 20.0, 1) == "68,0 °F"
    assert unit_sign(Quantity.MASS) == "lb"
