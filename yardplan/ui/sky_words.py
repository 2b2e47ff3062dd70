"""Sentences about the sky: days, where an outlook comes from, what was said by hand, and what a wash would bring."""

from datetime import datetime
from math import isfinite

from PySide6.QtCore import QObject

from yardplan.domain.days import Sky, Spell, Stow, Window, YardDay
from yardplan.domain.slots import SlotGrid, zone
from yardplan.domain.verification import LeadScores, Verified
from yardplan.domain.washing import WashGain
from yardplan.domain.weather_in_use import WeatherInUse
from yardplan.domain.yard import Yard
from yardplan.exchange.heat_words import FAIR_DAY, GOOD_DAY
from yardplan.forecast.overrule import Overrule
from yardplan.ui.dates import clock_text, day_text, day_time_text, decimal_text, percent_text


class SkyWords(QObject):
    """Tells about one yard's sky in the language and the customs of this seat."""

    def __init__(self, yard: Yard, grid: SlotGrid) -> None:
        super().__init__()
        self._grid = grid
        self._units = {unit.id: unit.name for unit in yard.units}
        self._products = {product.id: product.name for product in yard.products}

    def unit(self, unit_id: str) -> str:
        """Return the unit's name."""
        return self._units[unit_id]

    def product(self, product_id: str) -> str:
        """Return the product's name."""
        return self._products[product_id]

    def clock(self, slot: int) -> str:
        """Return the local time of a slot."""
        return clock_text(self._grid.local(slot))

    def kwh(self, kwh: tuple[float, ...]) -> str:
        """Return heat at P10, P50, P90."""
        low, likely, high = (decimal_text(value, 0) for value in kwh)
        return self.tr("{likely} kWh ({low} to {high})").format(likely=likely, low=low, high=high)

    def likely_kwh(self, kwh: tuple[float, ...]) -> str:
        """Return the median heat alone."""
        return self.tr("{likely} kWh").format(likely=decimal_text(kwh[1], 0))

    def grade(self, day: YardDay) -> str:
        """Return how good a day's sun is."""
        if not day.spells:
            return self.tr("no usable sun")
        if day.sun_frac >= GOOD_DAY:
            return self.tr("good day")
        return self.tr("fair day") if day.sun_frac >= FAIR_DAY else self.tr("poor day")

    def sky(self, spells: tuple[Spell, ...]) -> str:
        """Return what the sky most likely does through a day."""
        told = {
            Sky.SUN: self.tr("sun likely"),
            Sky.UNSURE: self.tr("sun or clouds"),
            Sky.CLOUDS: self.tr("clouds likely"),
        }
        if not spells:
            return ""
        if len(spells) == 1:
            return self.tr("{sky} all day").format(sky=told[spells[0].sky])
        parts = [
            self.tr("{sky} until {at}").format(sky=told[spell.sky], at=self.clock(spell.after_slot))
            for spell in spells[:-1]
        ]
        return ", ".join([*parts, self.tr("then {sky}").format(sky=told[spells[-1].sky])])

    def day(self, day: YardDay) -> str:
        """Return a day of the yard in one sentence."""
        told = [self.grade(day), self.sky(day.spells)] if day.spells else [self.grade(day)]
        told.append(self.kwh(day.kwh))
        if day.stow:
            told.append(self.stow_labels(day.stow)[0])
        return f"{day_text(day.on)}: {', '.join(told)}"

    def stow_labels(self, stow: Stow) -> tuple[str, ...]:
        """Return that wind may stow the mirrors, from the longest words to the shortest."""
        chance = percent_text(stow.chance)
        return (
            self.tr("wind may stow the mirrors {start} to {end} ({chance})").format(
                start=self.clock(stow.first_slot), end=self.clock(stow.after_slot), chance=chance
            ),
            self.tr("wind {chance}").format(chance=chance),
        )

    def cooks(self, count: int) -> str:
        """Return how many cooks."""
        return self.tr("1 cook") if count == 1 else self.tr("{n} cooks").format(n=count)

    def window(self, window: Window | None) -> str:
        """Return first and latest safe start and the cooks between as short as a table wants it."""
        if window is None:
            return self.tr("none")
        return self.tr("{first}–{last} · {n}").format(
            first=self.clock(window.first_slot), last=self.clock(window.last_slot), n=window.cooks
        )

    def window_sentence(self, window: Window | None, product_id: str, unit_id: str, latest: dict[str, int]) -> str:
        """Return a window in one sentence, with the latest safe start of each chamber where they differ."""
        where = self.tr("{unit}, {product}").format(unit=self.unit(unit_id), product=self.product(product_id))
        if window is None:
            return self.tr("{where}: no start of that day reaches PIAT at this confidence").format(where=where)
        told = self.tr("{where} in {mold}: first start {first}, latest safe start {last}, {cooks}").format(
            where=where,
            mold=window.mold_id,
            first=self.clock(window.first_slot),
            last=self.clock(window.last_slot),
            cooks=self.cooks(window.cooks),
        )
        if len(set(latest.values())) > 1:
            told += "; " + ", ".join(
                self.tr("{chamber} {at}").format(chamber=chamber, at=self.clock(slot))
                for chamber, slot in latest.items()
            )
        return told

    def source(self, heat_source: str, weather: WeatherInUse) -> tuple[str, ...]:
        """Return where the outlook comes from, how old that is and whom to credit, a line each."""
        clock = zone(weather.tz)

        def local(at: datetime | None) -> str:
            return day_time_text(at.astimezone(clock)) if at else ""

        lines = [heat_source]
        if weather.weather is not None and weather.age_h is not None:
            lines.append(
                self.tr("Issued {issued}, {age} h old, reaches to {to}.").format(
                    issued=local(weather.issued_at),
                    age=decimal_text(weather.age_h, 1),
                    to=local(weather.reaches_to_at),
                )
            )
        else:
            lines.append(self.tr("No forecast is in use: these are skies of the season, which do not age."))
        if weather.credit:
            lines.append(weather.credit)
        if weather.checked_at:
            lines.append(self.tr("The service last answered {at}.").format(at=local(weather.checked_at)))
        if weather.ask_from_at:
            lines.append(self.tr("It is not asked again before {at}.").format(at=local(weather.ask_from_at)))
        if weather.trouble:
            lines.append(self.tr("No newer forecast: {why}").format(why=weather.trouble))
        return (*lines, *weather.warnings)

    def overrule(self, rule: Overrule) -> str:
        """Return what was said by hand with its span."""
        start, end = (at.astimezone(self._grid.zone) for at in (rule.start_at, rule.end_at))
        until = clock_text(end) if end.date() == start.date() else day_time_text(end)
        return self.tr("{text}  ({start} to {until})").format(text=rule.text, start=day_time_text(start), until=until)

    def wash(self, gain: WashGain) -> str:
        """Return what a wash of one unit would bring against what it takes."""
        more = percent_text(gain.kwh / gain.kwh_before) if gain.kwh_before else ""
        heat = self.tr("{kwh} kWh more").format(kwh=decimal_text(gain.kwh, 0))
        told = f"{heat} (+{more})" if more else heat
        if gain.best is None:
            cooks = self.tr("no cook more")
        else:
            extra = gain.best.after - gain.best.before
            cooks = self.tr("{cooks} more of {product}").format(
                cooks=self.cooks(extra), product=self.product(gain.best.product_id)
            )
        takes = self.tr("takes {hours} crew hours").format(hours=decimal_text(gain.crew_h, 1))
        return self.tr("{unit}: {heat}, {cooks}; {takes}").format(
            unit=self.unit(gain.unit_id), heat=told, cooks=cooks, takes=takes
        )

    def verified(self, found: Verified) -> tuple[str, ...]:
        """Return how the outlooks of the last days fared, a line for each lead."""
        if not found.n_outlooks or found.first_made_at is None:
            return (
                self.tr("No outlook was kept yet. Each that is shown is kept from now on, and scored by measured sun."),
            )
        since = day_text(found.first_made_at.astimezone(zone(found.tz)))
        kept = self.tr("{n} outlooks kept since {day}").format(n=found.n_outlooks, day=since)
        if not found.sun_was_measured:
            return (
                self.tr("{kept}, but no measured sun: bring it in, or log it on the Today page.").format(kept=kept),
            )
        if not found.scores.leads:
            return (self.tr("{kept}; no hour that they speak of was measured yet.").format(kept=kept),)
        lines = [self.tr("{kept}, against measured direct light:").format(kept=kept)]
        lines += [self._lead(one) for one in found.scores.leads]
        if found.correction is not None:
            lines.append(found.correction.text)
        return (*lines, *found.scores.warnings)

    def _lead(self, one: LeadScores) -> str:
        first, last = one.lead_h
        ahead = self.tr("{a} to {b} h ahead").format(a=round(first), b=round(last))
        if last > 48:
            ahead = self.tr("{a} to {b} days ahead").format(a=round(first / 24), b=round(last / 24))
        sunny = self.tr("too sunny") if one.bias_w_m2 > 0 else self.tr("too dull")
        told = [
            self.tr("{w} W/m² {sunny}").format(w=decimal_text(abs(one.bias_w_m2), 0), sunny=sunny),
            self.tr("{share} of the hours within P10 to P90 (80% is right, {low} to {high} by chance)").format(
                share=percent_text(one.in_band_frac),
                low=percent_text(one.in_band_by_chance[0]),
                high=percent_text(one.in_band_by_chance[1]),
            ),
        ]
        for skill, text in (
            (one.nrmse_frac, self.tr("error {share} of the mean (RMSE)")),
            (one.skill_climate, self.tr("{share} less error than the season (CRPS)")),
            (one.skill_persistence, self.tr("{share} less error than the last day (RMSE)")),
        ):
            if isfinite(skill):
                told.append(text.format(share=percent_text(skill)))
        enough = "" if one.enough else self.tr("; too few days to judge by")
        days = self.tr("{n} days").format(n=one.days)
        return f"{ahead} ({days}): {', '.join(told)}{enough}"
