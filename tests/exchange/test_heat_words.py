from copy import deepcopy

import pytest

from yardplan.exchange.heat_words import heat_words


def kwh(*values):
    return dict(zip(("p10", "p50", "p90"), values, strict=True))


def at(clock):
    return f"2027-05-17T{clock}:00-06:00"


def window(product, start, end, cooks):
    return {"product": product, "mold": "M1", "window_start": at(start), "window_end": at(end), "cooks": cooks}


DOCUMENT = {
    "heat_source": "typical year",
    "confidence": 0.8,
    "washes": [],
    "notes": [],
    "correction": None,
    "starts": [],
    "days": [
        {
            "date": "2027-05-17", "sun_frac": 0.84, "kwh": kwh(1850.2, 3560.4, 3810), "stow": None,
            "spells": [
                {"start": at("06:45"), "end": at("14:00"), "sky": "sun"},
                {"start": at("14:00"), "end": at("18:30"), "sky": "clouds"},
            ],
            "cooks_start": at("06:55"), "cooks_end": at("17:30"),
            "units": [
                {"unit": "U1", "kwh": kwh(900, 1700, 1900),
                 "products": [window("TANK", "08:00", "15:10", 7), window("BIN", "06:55", "17:30", 12)],
                 "power": {"pv_kwh": kwh(22.6, 31.2, 34.4), "evening_kwh": 9.77, "evening_kw": 5.2,
                           "sunset_charge_kwh": 23.94}},
                {"unit": "U2", "kwh": kwh(950.2, 1860.4, 1910), "products": [], "power": None},
            ],
        }
    ],
}  # fmt: skip


def changed(**changes):
    document = deepcopy(DOCUMENT)
    document["days"][0].update(changes)
    return document


def test_a_day_is_told_in_one_line_and_each_unit_in_another():
    assert heat_words(DOCUMENT).splitlines() == [
        "Heat outlook, typical year; cooks at 80% confidence",
        "Mon 17 May: a good day, sun likely until 14:00, then clouds likely; 3,560 kWh (1,850 to 3,810); "
        "cooks can start 06:55 to 17:30",
        "  U1: 1,700 kWh (900 to 1,900); 2 products, up to 12 cooks of BIN",
        "  U2: 1,860 kWh (950 to 1,910); no cook reaches its peak temperature",
    ]


def test_a_unit_or_a_product_is_told_with_its_windows():
    assert heat_words(DOCUMENT, unit="U1").splitlines()[2:] == [
        "  U1: 1,700 kWh (900 to 1,900)",
        "    TANK in M1: start 08:00 to 15:10, 7 cooks one after another",
        "    BIN in M1: start 06:55 to 17:30, 12 cooks one after another",
        "    electricity: 31 kWh (23 to 34) of PV; at sunset 23.9 kWh in the battery, "
        "from then on 9.8 kWh for benches at up to 5.2 kW",
    ]
    assert heat_words(DOCUMENT, product="TANK").splitlines()[2:] == [
        "  U1: 1,700 kWh (900 to 1,900)",
        "    TANK in M1: start 08:00 to 15:10, 7 cooks one after another",
        "  U2: 1,860 kWh (950 to 1,910); no cook of TANK is possible",
    ]


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"spells": []}, "Mon 17 May: no usable sun"),
        ({"spells": [{"start": at("06:45"), "end": at("18:30"), "sky": "unsure"}], "sun_frac": 0.6},
         "Mon 17 May: a fair day, sun or clouds all day; "),
        ({"sun_frac": 0.3}, "Mon 17 May: a poor day, "),
        ({"stow": {"start": at("13:00"), "end": at("16:00"), "chance": 0.3}},
         "; wind may stow the mirrors 13:00 to 16:00 (30%); cooks can start"),
        ({"cooks_start": None, "cooks_end": None}, "to 3,810); no cook reaches its peak temperature"),
    ],
)  # fmt: skip
def test_other_days(changes, told):
    assert told in heat_words(changed(**changes))


WASH = {
    "unit": "U1", "on": "2027-05-17", "kwh": 118.4, "kwh_before": 3399, "minutes": 90, "crew": 2, "crew_h": 3,
    "best_product": "BIN",
    "products": [{"product": "TANK", "before": 20, "after": 21}, {"product": "BIN", "before": 151, "after": 155}],
}  # fmt: skip


def washes(*rows, **asked):
    return heat_words({**DOCUMENT, "washes": rows}, **asked).splitlines()[-len(rows) - 1 :]


def test_washes_are_told_against_their_crew_hours():
    none = WASH | {"unit": "U2", "kwh": 0, "kwh_before": 0, "crew": 1, "minutes": 75, "crew_h": 1.25}
    none |= {"best_product": None, "products": []}
    assert washes(WASH, none) == [
        "A wash of the mirrors before the sun of Mon 17 May would bring, in all until the end:",
        "  U1: 118 kWh (+3.5%), 4 more cooks of BIN (155 instead of 151); takes 3.0 crew hours (2 people, 90 min)",
        "  U2: 0 kWh, no cook more; takes 1.2 crew hours (1 person, 75 min)",
    ]
    assert "1 more cook of TANK (21 instead of 20)" in washes(WASH, product="TANK")[-1]
    assert heat_words({**DOCUMENT, "washes": [WASH]}, unit="U2").count("crew hours") == 0


def test_without_a_sunset_there_is_no_evening():
    power = {"pv_kwh": kwh(0, 0, 0), "evening_kwh": None, "evening_kw": None, "sunset_charge_kwh": None}
    dark = changed(units=[{**DOCUMENT["days"][0]["units"][0], "power": power}])
    assert heat_words(dark, unit="U1").splitlines()[-1] == "    electricity: 0 kWh (0 to 0) of PV"


def test_notes_come_last():
    noted = {**DOCUMENT, "notes": ["unit U1 keeps 1.0 kWh in its battery"]}
    assert heat_words(noted).splitlines()[-1] == "Note: unit U1 keeps 1.0 kWh in its battery."


def test_starts_that_were_asked_for_are_told_by_unit():
    def start(unit, text):
        return {"unit": unit, "start": "2027-05-17T16:30:00-06:00", "text": text}

    asked = {**DOCUMENT, "starts": [start("U1", "from 16:30 it would stall"), start("U2", "from 16:30 it is good")]}
    lines = heat_words(asked).splitlines()
    assert lines[-3:] == ["Starts on Mon 17 May:", "  from 16:30 it would stall", "  from 16:30 it is good"]
    assert heat_words(asked, unit="U2").splitlines()[-2:] == ["Starts on Mon 17 May:", "  from 16:30 it is good"]
