"""The heat outlook in plain words, made from its document."""

from datetime import date, datetime
from typing import Any

GOOD_DAY, FAIR_DAY = 0.8, 0.5
"""Median share of a cloudless day's direct light from which on a day is called good, or fair; own words, no source."""

_SKIES = {"sun": "sun likely", "unsure": "sun or clouds", "clouds": "clouds likely"}


def heat_words(document: dict[str, Any], *, unit: str = "", product: str = "") -> str:
    """Return a heat document in words: a line or two for each day of the yard, then one for each unit.

    Parameters
    ----------
    unit, product : str
        Tell only these, with the window of each product on each unit.
    """
    lines = [f"Heat outlook, {document['heat_source']}; cooks at {document['confidence']:.0%} confidence"]
    for day in document["days"]:
        lines.append(f"{date.fromisoformat(day['date']):%a %d %b}: {_day(day)}")
        for row in day["units"]:
            if unit in ("", row["unit"]):
                lines += _unit_in_detail(row, product) if unit or product else [f"  {_unit(row)}"]
            if unit == row["unit"] and row["power"]:
                lines.append(f"    {_power(row['power'])}")
    starts = [row for row in document["starts"] if unit in ("", row["unit"])]
    if starts:
        lines.append(f"Starts on {datetime.fromisoformat(starts[0]['start']):%a %d %b}:")
        lines += [f"  {row['text']}" for row in starts]
    washes = [row for row in document["washes"] if unit in ("", row["unit"])]
    if washes:
        on = date.fromisoformat(washes[0]["on"])
        lines.append(f"A wash of the mirrors before the sun of {on:%a %d %b} would bring, in all until the end:")
        lines += [f"  {_wash(row, product)}" for row in washes]
    if document["correction"]:
        lines.append(f"Note: {document['correction']['text']}.")
    lines += [f"Note: {note}." for note in document["notes"]]
    return "\n".join(lines)


def _day(day: dict[str, Any]) -> str:
    if not day["spells"]:
        return "no usable sun"
    grade = (
        "a good day" if day["sun_frac"] >= GOOD_DAY else "a fair day" if day["sun_frac"] >= FAIR_DAY else "a poor day"
    )
    words = f"{grade}, {_sky(day['spells'])}; {_kwh(day['kwh'])}"
    if day["stow"]:
        words += f"; wind may stow the mirrors {_span(day['stow'])} ({day['stow']['chance']:.0%})"
    if not day["cooks_start"]:
        return f"{words}; no cook reaches its peak temperature"
    return f"{words}; cooks can start {_clock(day['cooks_start'])} to {_clock(day['cooks_end'])}"


def _sky(spells: list[dict[str, Any]]) -> str:
    if len(spells) == 1:
        return f"{_SKIES[spells[0]['sky']]} all day"
    until = [f"{_SKIES[spell['sky']]} until {_clock(spell['end'])}" for spell in spells[:-1]]
    return f"{', '.join(until)}, then {_SKIES[spells[-1]['sky']]}"


def _unit(row: dict[str, Any]) -> str:
    words = f"{row['unit']}: {_kwh(row['kwh'])}"
    if not row["products"]:
        return f"{words}; no cook reaches its peak temperature"
    most = max(row["products"], key=lambda window: window["cooks"])
    kinds = "1 product" if len(row["products"]) == 1 else f"{len(row['products'])} products"
    return f"{words}; {kinds}, up to {most['cooks']} cooks of {most['product']}"


def _unit_in_detail(row: dict[str, Any], product: str) -> list[str]:
    rows = [window for window in row["products"] if product in ("", window["product"])]
    head = f"  {row['unit']}: {_kwh(row['kwh'])}"
    if not rows:
        return [f"{head}; no cook{' of ' + product if product else ''} is possible"]
    return [
        head,
        *(
            f"    {window['product']} in {window['mold']}: start {_clock(window['window_start'])} to "
            f"{_clock(window['window_end'])}, {window['cooks']} cooks one after another"
            for window in rows
        ),
    ]


def _power(row: dict[str, Any]) -> str:
    words = f"electricity: {_kwh(row['pv_kwh'])} of PV"
    if row["evening_kwh"] is None:
        return words
    return (
        f"{words}; at sunset {row['sunset_charge_kwh']:.1f} kWh in the battery, "
        f"from then on {row['evening_kwh']:.1f} kWh for benches at up to {row['evening_kw']:.1f} kW"
    )


def _wash(row: dict[str, Any], product: str) -> str:
    more = f" ({row['kwh'] / row['kwh_before']:+.1%})" if row["kwh_before"] else ""
    words = f"{row['unit']}: {row['kwh']:,.0f} kWh{more}, {_more_cooks(row, product or row['best_product'])}"
    people = "1 person" if row["crew"] == 1 else f"{row['crew']} people"
    return f"{words}; takes {row['crew_h']:.1f} crew hours ({people}, {row['minutes']} min)"


def _more_cooks(row: dict[str, Any], product: str | None) -> str:
    gains = [gain for gain in row["products"] if gain["product"] == product and gain["after"] > gain["before"]]
    if not gains:
        return "no cook more"
    before, after = gains[0]["before"], gains[0]["after"]
    cooks = "1 more cook" if after - before == 1 else f"{after - before} more cooks"
    return f"{cooks} of {product} ({after} instead of {before})"


def _kwh(kwh: dict[str, float]) -> str:
    return f"{kwh['p50']:,.0f} kWh ({kwh['p10']:,.0f} to {kwh['p90']:,.0f})"


def _span(row: dict[str, Any]) -> str:
    return f"{_clock(row['start'])} to {_clock(row['end'])}"


def _clock(text: str) -> str:
    return f"{datetime.fromisoformat(text):%H:%M}"
