"""Answers of forecast services become hourly means, or are refused with what was expected."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.local_service import NOW, hours_document, layers_document, layers_step
from tests.small_yard import small_yard
from yardplan.domain.errors import ServiceTrouble
from yardplan.domain.weather_in_use import ServiceFormat
from yardplan.forecast.services import (
    HIGH_CLOUD_FRAC,
    OPEN_ADDRESS,
    OPEN_CREDIT,
    Forecast,
    Service,
    effective_cover,
    read_forecast,
)

SITE = small_yard().site
LAYERS = Service()
HOURS = Service(ServiceFormat.IRRADIANCE, "https://weather.example/v1/forecast?models=one&apikey=secret", "")
FIRST = NOW.replace(minute=0)


def read(document: object, service: Service = LAYERS) -> Forecast:
    return read_forecast(service, json.dumps(document).encode(), SITE, NOW)


def refused(body: bytes, service: Service = LAYERS) -> str:
    with pytest.raises(ServiceTrouble) as raised:
        read_forecast(service, body, SITE, NOW)
    assert raised.value.wait_s > 0
    return str(raised.value)


def same(values, expected) -> None:
    np.testing.assert_allclose(values, np.array(expected, np.float32), rtol=1e-5, atol=1e-6)


def steps(hours: list[int], **details: list[float | None]) -> list[dict]:
    rows = ({name: values[ix] for name, values in details.items()} for ix in range(len(hours)))
    return [layers_step(FIRST + timedelta(hours=hour), **row) for hour, row in zip(hours, rows, strict=True)]


def test_instants_become_the_mean_of_the_hour_between_them():
    weather = read(layers_document(steps([0, 1, 2], air_temperature=[10, 14, 12], wind_speed=[2, 4, 8]))).weather
    assert weather.starts_at == (FIRST, FIRST + timedelta(hours=1))
    assert weather.step_min == 60
    same(weather.temp_c, [12, 13])
    same(weather.wind_m_s, [3, 6])


def test_the_stronger_of_two_gusts_holds_for_the_time_between_them():
    weather = read(layers_document(steps([0, 1, 7], wind_speed_of_gust=[9, 15, 12]))).weather
    same(weather.gust_m_s, [15, 15, 15, 15, 15, 15, 15])


def test_instants_six_hours_apart_are_joined_by_a_straight_line_and_those_further_apart_are_not():
    weather = read(layers_document(steps([0, 6, 13], air_temperature=[0, 12, 26]))).weather
    assert len(weather.starts_at) == 13
    same(weather.temp_c, [1, 3, 5, 7, 9, 11] + [np.nan] * 7)
    assert np.isnan(weather.cloud_frac[6:]).all()
    assert np.isnan(weather.gust_m_s[6:]).all()


def test_a_key_that_is_not_there_leaves_a_gap_on_both_its_sides():
    document = layers_document(steps([0, 1, 2, 3], wind_speed_of_gust=[9, None, 9, 9], air_temperature=[1, 2, 3, None]))
    weather = read(document).weather
    same(weather.gust_m_s, [np.nan, np.nan, 9])
    same(weather.temp_c, [1.5, 2.5, np.nan])
    assert np.isfinite(weather.cloud_frac).all()


def test_cloud_layers_count_by_what_they_take_of_the_direct_light():
    layers = {
        "cloud_area_fraction_low": [50.0, 0.0, 0.0, 0.0],
        "cloud_area_fraction_medium": [50.0, 0.0, 0.0, 0.0],
        "cloud_area_fraction_high": [50.0, 100.0, 0.0, 0.0],
        "fog_area_fraction": [0.0, 0.0, 80.0, 0.0],
    }
    weather = read(layers_document(steps([0, 1, 2, 3], **layers))).weather
    at = [1 - 0.5 * 0.5 * (1 - 0.5 * HIGH_CLOUD_FRAC), HIGH_CLOUD_FRAC, 0.8, 0.0]
    same(weather.cloud_frac, [(at[0] + at[1]) / 2, (at[1] + at[2]) / 2, (at[2] + at[3]) / 2])


def test_without_layers_total_cover_counts_and_that_is_told():
    found = read(layers_document(steps([0, 1], cloud_area_fraction=[60, 80], cloud_area_fraction_high=[None, None])))
    same(found.weather.cloud_frac, [0.7])
    assert any("no cloud layers" in warning for warning in found.warnings)


def test_what_the_open_service_says_and_does_not_say():
    found = read(layers_document())
    weather = found.weather
    assert len(weather.starts_at) == 54 + 7 * 24
    for name in ("dni_w_m2", "ghi_w_m2", "dhi_w_m2"):
        assert np.isnan(getattr(weather, name)).all()
    assert np.isfinite(weather.cloud_frac).all()
    assert weather.issued_at == NOW - timedelta(minutes=35)
    assert "api.met.no" in weather.source
    assert (found.members, found.warnings) == ((), ())


def test_values_that_cannot_be_are_left_out_and_counted():
    found = read(layers_document(steps([0, 1, 2], air_temperature=[20, 911, 22], cloud_area_fraction_low=[0, 0, 130])))
    same(found.weather.temp_c, [np.nan, np.nan])
    assert "1 value(s) of air_temperature that cannot be were left out" in found.warnings
    assert "1 value(s) of cloud_area_fraction_low that cannot be were left out" in found.warnings


def test_irradiance_and_gusts_belong_to_the_hour_before_and_all_else_is_an_instant():
    document = hours_document(
        4,
        time=[int((FIRST + timedelta(hours=hour)).timestamp()) for hour in range(4)],
        direct_normal_irradiance=[100.0, 200.0, 300.0, None],
        wind_gusts_10m=[1.0, 5.0, 3.0, 4.0],
        temperature_2m=[10.0, 12.0, 14.0, 20.0],
    )
    found = read(document, HOURS)
    assert found.weather.starts_at == tuple(FIRST + timedelta(hours=hour) for hour in range(3))
    same(found.weather.dni_w_m2, [200, 300, np.nan])
    same(found.weather.gust_m_s, [5, 3, 4])
    same(found.weather.temp_c, [11, 13, 17])
    same(found.weather.ghi_w_m2, [600] * 3)
    same(found.weather.dhi_w_m2, [90] * 3)
    same(found.weather.cloud_frac, [1 - 0.9 * (1 - 0.5 * HIGH_CLOUD_FRAC)] * 3)
    assert found.weather.issued_at == NOW
    assert found.warnings == ()


def test_members_of_an_ensemble():
    document = hours_document(48, 3)
    del document["hourly"]["temperature_2m_member02"]
    found = read(document, HOURS)
    assert len(found.members) == 3
    for number, member in enumerate(found.members, 1):
        same(member.dni_w_m2, [700 + number] * 47)
        assert member.starts_at == found.weather.starts_at
        assert member.source.endswith(f"member {number}")
    assert np.isnan(found.members[1].temp_c).all()
    same(found.members[2].temp_c, [21] * 47)


def test_members_without_layers_take_their_total_cover():
    document = hours_document(48, 1)
    for layer in ("low", "mid", "high"):
        del document["hourly"][f"cloud_cover_{layer}_member01"]
    found = read(document, HOURS)
    same(found.members[0].cloud_frac, [0.21] * 47)
    same(found.weather.cloud_frac, [1 - 0.9 * (1 - 0.5 * HIGH_CLOUD_FRAC)] * 47)
    assert sum("no cloud layers" in warning for warning in found.warnings) == 1


def test_negative_irradiance_is_left_out():
    found = read(hours_document(direct_normal_irradiance=[-5.0] * 24 + [500.0] * 24), HOURS)
    assert np.isnan(found.weather.dni_w_m2[:23]).all()
    same(found.weather.dni_w_m2[23:], [500] * 24)
    assert found.warnings == ("24 value(s) of direct_normal_irradiance that cannot be were left out",)


def changed(document: dict, path: str, value: object) -> bytes:
    *keys, last = path.split(".")
    place = document
    for key in keys:
        place = place[int(key)] if key.isdecimal() else place[key]
    if value is ...:
        del place[last]
    else:
        place[int(last) if last.isdecimal() else last] = value
    return json.dumps(document).encode()


STEPS = "properties.timeseries"


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("properties.meta.units.air_temperature", "fahrenheit", "gives air_temperature in 'fahrenheit'; expected cel"),
        ("properties.meta.units.wind_speed", "km/h", "gives wind_speed in 'km/h'; expected m/s"),
        ("properties.meta.units.cloud_area_fraction_low", ..., "gives cloud_area_fraction_low in 'None'; expected %"),
        ("properties.meta.units", ..., "not in the expected format (cloud-layers): properties.meta.units is 'None'"),
        ("properties.meta.updated_at", "yesterday", "has 'yesterday' in meta.updated_at"),
        ("properties.meta.updated_at", "2027-05-17T12:00:00", "expected a time with its offset"),
        ("geometry.coordinates", [35.0, -106.0, 1600], "answered for another place: latitude -106.0 where 35.0000"),
        ("geometry.coordinates", [-106.0], "has no longitude and latitude"),
        ("geometry.coordinates", ["x", "y"], "answered for another place"),
        (f"{STEPS}.3.time", "2027-05-17T13:00:00Z", "has times that repeat or go back"),
        (f"{STEPS}.3.time", "2027-05-17T15:30:00Z", "has times that are not full hours"),
        (f"{STEPS}.3.time", 1810000000, "time is '1810000000'"),
        (f"{STEPS}.3.data", ..., "data.instant.details is 'None'"),
        (f"{STEPS}.3.data.instant.details.wind_speed", "4", "has '4' in wind_speed; expected a number"),
        (f"{STEPS}.3.data.instant.details.wind_speed", True, "has 'True' in wind_speed; expected a number"),
        (STEPS, [], "has 0 times; expected at least two"),
        (STEPS, {"a": 1}, "properties.timeseries is"),
        (STEPS, [layers_step(NOW.replace(minute=0) - timedelta(hours=h)) for h in (9, 8)], "which is past"),
        (STEPS, [layers_step(NOW.replace(minute=0) + timedelta(days=d)) for d in (0, 99)], "spans more than 60 days"),
    ],
)  # fmt: skip
def test_cloud_layers_that_cannot_be_used(path, value, told):
    assert told in refused(changed(layers_document(), path, value))


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("hourly_units.wind_speed_10m", "km/h", "gives wind_speed_10m in 'km/h'; expected m/s"),
        ("hourly_units.temperature_2m", "°F", "gives temperature_2m in '°F'; expected °C"),
        ("hourly_units.time", "iso8601", "answered times that are not seconds since 1970 in UTC"),
        ("utc_offset_seconds", -21600, "answered times that are not seconds since 1970 in UTC"),
        ("hourly.time", ["2027-05-17T00:00"] * 48, "has times that are not seconds since 1970"),
        ("hourly.time", [10**30] * 48, "has times that are not seconds since 1970"),
        ("hourly.time.5", 1810000800, "has times that"),
        ("hourly.cloud_cover", [1.0] * 47, "has another number of values in cloud_cover than of times"),
        ("hourly.cloud_cover", 5, "has another number of values in cloud_cover than of times"),
        ("hourly.cloud_cover_memberXY", [1.0] * 48, "members that are not numbered: XY"),
        ("latitude", 36.5, "answered for another place: latitude 36.5"),
        ("latitude", "35", "latitude is '35'"),
        ("hourly", ..., "hourly is 'None'"),
    ],
)
def test_hourly_columns_that_cannot_be_used(path, value, told):
    assert told in refused(changed(hours_document(), path, value), HOURS)


def test_hours_that_are_not_an_hour_apart():
    document = hours_document(4, time=[int(FIRST.timestamp()) + 3 * 3600 * hour for hour in range(4)])
    assert "not an hour apart" in refused(json.dumps(document).encode(), HOURS)


@pytest.mark.parametrize("service", [LAYERS, HOURS], ids=["layers", "hours"])
@pytest.mark.parametrize(
    "body",
    [b"", b"<html>down for maintenance</html>", b"{", b"\xff\xfe\x00", b"[" * 100_000, b'{"a": NaN}', b'{"a": 1e}'],
)
def test_what_is_no_json(service, body):
    assert "answered what is no JSON" in refused(body, service)


@pytest.mark.parametrize("service", [LAYERS, HOURS], ids=["layers", "hours"])
@pytest.mark.parametrize("body", [b"[]", b"7", b'"text"', b"null", b'{"error": true, "reason": "no"}'])
def test_json_of_something_else(service, body):
    assert "is not in the expected format" in refused(body, service)


def test_neither_clouds_nor_irradiance():
    names = [f"cloud_area_fraction{layer}" for layer in ("", "_low", "_medium", "_high")]
    document = layers_document(steps([0, 1], **{name: [None, None] for name in names}))
    assert "neither cloud cover nor direct irradiance" in refused(json.dumps(document).encode())


def test_the_question_to_the_open_service_has_four_decimals_and_whole_meters():
    url = urlsplit(Service().url(replace(SITE, latitude_deg=35.123456, longitude_deg=-106.98765, altitude_m=1600.6)))
    assert f"{url.scheme}://{url.netloc}{url.path}" == OPEN_ADDRESS
    assert parse_qs(url.query) == {"lat": ["35.1235"], "lon": ["-106.9877"], "altitude": ["1601"]}
    assert "CC BY 4.0" in OPEN_CREDIT


def test_the_question_for_hourly_columns_asks_for_units_and_keeps_what_the_address_has():
    query = parse_qs(urlsplit(HOURS.url(SITE)).query)
    assert query["models"] == ["one"]
    assert query["apikey"] == ["secret"]
    assert query["wind_speed_unit"] == ["ms"]
    assert query["timeformat"] == ["unixtime"]
    assert query["timezone"] == ["GMT"]
    assert query["latitude"] == ["35.0000"]
    assert "direct_normal_irradiance" in query["hourly"][0].split(",")
    assert HOURS.name == "weather.example/v1/forecast"


numbers = st.one_of(st.none(), st.floats(-200, 2000), st.integers(-(10**40), 10**40))


@given(st.lists(st.tuples(numbers, numbers, numbers), min_size=2, max_size=30))
def test_whatever_numbers_come_the_weather_is_possible_or_a_gap(rows):
    hours = list(range(len(rows)))
    cloud, wind, temp = (list(column) for column in zip(*rows, strict=True))
    document = layers_document(
        steps(hours, cloud_area_fraction_low=cloud, wind_speed=wind, air_temperature=temp, wind_speed_of_gust=wind)
    )
    weather = read(document).weather
    assert len(weather.starts_at) == len(rows) - 1
    for values, low, high in (
        (weather.cloud_frac, 0, 1),
        (weather.wind_m_s, 0, 115),
        (weather.gust_m_s, 0, 115),
        (weather.temp_c, -90, 60),
    ):
        known = values[np.isfinite(values)]
        assert ((known >= low) & (known <= high)).all()


@given(st.tuples(*[st.floats(0, 1)] * 3), st.integers(0, 2), st.floats(0, 1))
def test_more_cloud_in_any_layer_never_covers_less(layers, which, more):
    thicker = list(layers)
    thicker[which] = max(thicker[which], more)
    before, after = (effective_cover(*(np.array([layer]) for layer in these)) for these in (layers, thicker))
    assert 0 <= before[0] <= after[0] + 1e-12 <= 1 + 2e-12


def test_times_are_kept_in_utc():
    weather = read(layers_document()).weather
    assert all(at.tzinfo is UTC for at in weather.starts_at)
    assert weather.starts_at[0] == datetime(2027, 5, 17, 13, tzinfo=UTC)


def rained(hours: list[int], amounts: list[float | None], span: str = "next_1_hours") -> list[dict]:
    rows = steps(hours)
    for row, amount in zip(rows, amounts, strict=True):
        del row["data"]["next_1_hours"]
        if amount is not None:
            row["data"][span] = {"details": {"precipitation_amount": amount}}
    return rows


def test_rain_is_that_of_the_time_up_to_the_next_instant():
    same(read(layers_document(rained([0, 1, 2, 3], [0.5, None, 2, 9]))).weather.rain_mm, [0.5, np.nan, 2])
    six = read(layers_document(rained([0, 6, 12], [3, 0, 9], "next_6_hours"))).weather
    same(six.rain_mm, [0.5] * 6 + [0] * 6)
    # an hour's rain says nothing of six hours, and six hours' nothing of one
    assert read(layers_document(rained([0, 6, 12], [3, 0, 9]))).weather.rain_mm is None
    assert read(layers_document(rained([0, 1, 2], [3, 0, 9], "next_6_hours"))).weather.rain_mm is None


def test_rain_that_cannot_be_is_left_out_or_refused():
    document = layers_document(rained([0, 1, 2], [-1, 4, 0]))
    assert "1 value(s) of precipitation_amount that cannot be were left out" in read(document).warnings
    document["properties"]["meta"]["units"]["precipitation_amount"] = "inch"
    assert "gives precipitation_amount in 'inch'; expected mm" in refused(json.dumps(document).encode())


def test_rain_of_hourly_columns_belongs_to_the_hour_before():
    document = hours_document()
    assert read(document, HOURS).weather.rain_mm is None
    n_hours = len(document["hourly"]["time"])
    document["hourly"]["precipitation"] = [float(ix) for ix in range(n_hours)]
    document["hourly_units"]["precipitation"] = "mm"
    same(read(document, HOURS).weather.rain_mm, range(1, n_hours))
