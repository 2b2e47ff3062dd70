"""Sentences and charts of a review: figures with their cards, what drifts, and the tables behind them."""

from datetime import date

from PySide6.QtCore import QCoreApplication, QObject, Qt

from yardplan.domain.calibration import Drift, Suspect
from yardplan.domain.heat_use import HeatTo
from yardplan.domain.made import Cause
from yardplan.domain.review import Figure, Review, Table
from yardplan.domain.slots import zone
from yardplan.ui.chart import ChartData, Series, Tone
from yardplan.ui.dates import day_text, day_time_text, decimal_text, percent_text
from yardplan.ui.units import Quantity, measured_text, unit_sign

HATCH = Qt.BrushStyle
HEAT_FOR_MASS = Quantity.HEAT_FOR_MASS

TONES = {
    HeatTo.GOOD: Tone("heat"),
    HeatTo.REWORK: Tone("band_edge", HATCH.HorPattern),
    HeatTo.SCRAPPED: Tone("action", HATCH.BDiagPattern),
    HeatTo.INSIDE: Tone("likely", HATCH.VerPattern),
    HeatTo.BESIDE: Tone("frame", HATCH.CrossPattern),
    HeatTo.IDLE: Tone("base"),
    HeatTo.OUT: Tone("frame", HATCH.DiagCrossPattern),
}

CHART_OF = {
    "starts_in_time": "causes",
    "pieces_made": "orders",
    "allocation_efficiency": "units",
    "utilization_efficiency": "pieces",
    "setup_ratio": "pieces",
    "first_pass_yield": "losses",
    "scrap_ratio": "losses",
    "rework_ratio": "losses",
    "heat_use": "heat",
    "heat_per_kg": "heat",
    "evening_energy": "battery",
    "forecast_in_band": "forecast",
    "forecast_skill": "forecast",
    "fit_error": "molds",
}
"""Where the rows behind a figure are drawn."""


def told(text: str) -> str:
    """Return a name or a sentence of a review in the language of this seat; see the context of that name."""
    return QCoreApplication.translate("review", text)


class ReviewWords(QObject):
    """Tells a review in the language and the customs of this seat."""

    def value(self, figure: Figure) -> str:
        """Return a figure with its unit."""
        if figure.value is None:
            return self.tr("not known")
        if not figure.card.unit:
            return f"{decimal_text(100 * figure.value, 1)} %"
        if figure.card.unit == HEAT_FOR_MASS.value.metric:
            return measured_text(HEAT_FOR_MASS, figure.value, 2)
        return f"{decimal_text(figure.value, 1)} {figure.card.unit}"

    def sentence(self, figure: Figure) -> str:
        """Return a figure in one sentence."""
        value = f"{told(figure.card.name)}: {self.value(figure)}"
        return f"{value}; {told(figure.note)}" if figure.note else value

    def card(self, figure: Figure, tz: str) -> tuple[tuple[str, str], ...]:
        """Return all that a figure rests on, as names and texts."""
        card, clock = figure.card, zone(tz)
        low, high = ("" if end is None else decimal_text(end, 0) for end in (card.low, card.high))
        spans = {
            (True, True): self.tr("any number"),
            (True, False): self.tr("up to {high}").format(high=high),
            (False, True): self.tr("from {low}").format(low=low),
            (False, False): self.tr("{low} to {high}").format(low=low, high=high),
        }
        counts = "".join(f"\n{told(what)}: {self.count(count)}" for what, count in figure.counts)
        return (
            (self.tr("Formula"), told(card.formula)),
            (self.tr("Counts"), counts or told(figure.note)),
            (
                self.tr("Period"),
                self.tr("{start} to {end}").format(
                    start=day_time_text(figure.start_at.astimezone(clock)),
                    end=day_time_text(figure.end_at.astimezone(clock)),
                ),
            ),
            (self.tr("Of"), told(card.scope)),
            (self.tr("Unit"), self._unit(card.unit)),
            (self.tr("Range"), spans[card.low is None, card.high is None]),
            (self.tr("Trend"), told(card.trend)),
            (self.tr("Timing"), told(card.timing)),
            (self.tr("For"), told(card.audience)),
            (self.tr("From"), told(card.source)),
        )

    def _unit(self, unit: str) -> str:
        if unit == HEAT_FOR_MASS.value.metric:
            return unit_sign(HEAT_FOR_MASS)
        return unit or self.tr("share")

    def count(self, count: float) -> str:
        """Return a count with as many digits as it needs."""
        if count == int(count):
            return decimal_text(count, 0)
        return decimal_text(count, 2 if abs(count) < 10 else 1)

    def drift(self, drift: Drift, tz: str) -> str:
        """Return a warning with its evidence and where to look."""
        names = {
            Suspect.FIELD: self.tr("the mirrors of {name} (dirt, aim, one that stands still)"),
            Suspect.PAINT: self.tr("the black paint of {name}"),
            Suspect.THERMOCOUPLE: self.tr("the thermocouple of chamber {name}"),
        }
        look = self.tr(" or ").join(names[suspect].format(name=name) for suspect, name in drift.suspects)
        return self.tr(
            "Look at {look}: {change} of heat in {n} cycles since {day}, against {before} before; {errors} standard "
            "errors. All others: {others}."
        ).format(
            look=look,
            change=_signed(drift.heat_change_frac),
            n=drift.n_recent,
            day=day_text(drift.since_at.astimezone(zone(tz))),
            before=drift.n_before,
            errors=decimal_text(drift.std_errors, 1),
            others=_signed(drift.elsewhere_frac),
        )

    # Charts

    def charts(self, found: Review) -> tuple[tuple[str, ChartData], ...]:
        """Return the charts of all tables with their ids, in the order in which they are shown."""
        made = {
            "heat": self._heat,
            "pieces": self._pieces,
            "units": self._units,
            "orders": self._orders,
            "causes": self._causes,
            "losses": self._losses,
            "forecast": self._forecast,
            "battery": self._battery,
            "molds": self._molds,
        }
        return tuple((name, make(found.tables[name])) for name, make in made.items())

    def empty(self, name: str) -> str:
        """Return what a chart without rows waits for."""
        return {
            "heat": self.tr("No measured sun in this time: bring it in, or log it on the Today page."),
            "pieces": self.tr("No piece was planned or made in this time: log what is made on the Today page."),
            "units": self.tr("No plan is in force: publish one to set beside it what is made."),
            "orders": self.tr("No plan is in force: publish one to set beside it what is made."),
            "causes": self.tr("No planned start was missed, or no plan was in force: publish a plan to compare with."),
            "losses": self.tr("No piece was scrapped or sent to rework in this time."),
            "forecast": self.tr(
                "No outlook was met by measured sun yet. Each one shown is kept, and scored when its sun was measured."
            ),
            "battery": self.tr("No bench worked in the dark, and none was planned to."),
            "molds": self.tr("Nothing could be learned: it takes logged cycles and measured sun."),
        }[name]

    def _heat(self, table: Table) -> ChartData:
        names = {
            HeatTo.GOOD: self.tr("in good pieces"),
            HeatTo.REWORK: self.tr("in rework"),
            HeatTo.SCRAPPED: self.tr("in scrap"),
            HeatTo.INSIDE: self.tr("in molds still"),
            HeatTo.BESIDE: self.tr("not absorbed"),
            HeatTo.OUT: self.tr("unit out of work"),
            HeatTo.IDLE: self.tr("no mold to heat"),
        }
        columns = dict(zip(table.columns, zip(*table.rows, strict=True), strict=False))
        stacked = tuple(
            Series(name, _numbers(columns.get(f"{to}_kwh", ())), TONES[to])
            for to, name in names.items()
            if any(columns.get(f"{to}_kwh", ()))
        )
        return ChartData(self.tr("Where the usable heat went"), _days(table), stacked, self.tr("kWh"))

    def _pieces(self, table: Table) -> ChartData:
        planned, good, rework, scrapped = (_column(table, ix) for ix in range(1, 5))
        stacked = (
            Series(self.tr("good"), good, TONES[HeatTo.GOOD]),
            Series(self.tr("rework"), rework, TONES[HeatTo.REWORK]),
            Series(self.tr("scrapped"), scrapped, TONES[HeatTo.SCRAPPED]),
        )
        marks = Series(self.tr("planned"), planned, Tone("text")) if any(planned) else None
        return ChartData(self.tr("Pieces planned and made"), _days(table), stacked, "", marks)

    def _units(self, table: Table) -> ChartData:
        planned, made, as_planned = (_column(table, ix) for ix in (1, 2, 3))
        stacked = (
            Series(self.tr("as planned"), as_planned, TONES[HeatTo.GOOD]),
            Series(self.tr("made otherwise"), _differences(made, as_planned), TONES[HeatTo.BESIDE]),
        )
        marks = Series(self.tr("planned"), planned, Tone("text"))
        labels = tuple(str(row[0]) for row in table.rows)
        return ChartData(self.tr("Cycles of the plan in force by unit, until now"), labels, stacked, "", marks)

    def _orders(self, table: Table) -> ChartData:
        planned, good, scrapped, rework = (_column(table, ix) for ix in (4, 5, 6, 7))
        stacked = (
            Series(self.tr("good"), good, TONES[HeatTo.GOOD]),
            Series(self.tr("rework"), rework, TONES[HeatTo.REWORK]),
            Series(self.tr("scrapped"), scrapped, TONES[HeatTo.SCRAPPED]),
        )
        marks = Series(self.tr("planned"), planned, Tone("text"))
        labels = tuple(str(row[0]) for row in table.rows)
        title = self.tr("Pieces of the plan in force by order, until now")
        return ChartData(title, labels, stacked, "", marks, lies=True)

    def _causes(self, table: Table) -> ChartData:
        names = {
            Cause.EQUIPMENT: self.tr("equipment down"),
            Cause.WIND: self.tr("mirrors stowed"),
            Cause.SUN: self.tr("no sun"),
            Cause.CREW: self.tr("crew absent"),
            Cause.MOLD: self.tr("mold not free"),
            Cause.CHAMBER: self.tr("chamber not free"),
            Cause.EARLY: self.tr("begun early"),
            Cause.NOT_TOLD: self.tr("not told by the log"),
        }
        labels = tuple(names[Cause(str(row[0]))] for row in table.rows)
        stacked = (Series(self.tr("starts"), _column(table, 1), Tone("cool", HATCH.HorPattern)),)
        return ChartData(self.tr("Cooks not begun in time, by cause"), labels, stacked, "", lies=True)

    def _losses(self, table: Table) -> ChartData:
        stacked = (
            Series(self.tr("scrapped"), _column(table, 1), TONES[HeatTo.SCRAPPED]),
            Series(self.tr("rework"), _column(table, 2), TONES[HeatTo.REWORK]),
        )
        labels = tuple(told(str(row[0])) for row in table.rows)
        return ChartData(self.tr("Scrap and rework by reason [pieces]"), labels, stacked, "", lies=True)

    def _forecast(self, table: Table) -> ChartData:
        labels = tuple(self._lead(float(row[0]), float(row[1])) for row in table.rows)
        stacked = (Series(self.tr("within P10 to P90"), tuple(100 * one for one in _column(table, 3)), Tone("band")),)
        spans = tuple((100 * float(row[4]), 100 * float(row[5])) for row in table.rows)
        title = self.tr("Sun within the band shown; 80 % is right")
        return ChartData(title, labels, stacked, "%", spans=spans, line=80.0)

    def _lead(self, first_h: float, last_h: float) -> str:
        if last_h <= 48:
            return self.tr("{a} to {b} h").format(a=round(first_h), b=round(last_h))
        return self.tr("{a} to {b} days").format(a=round(first_h / 24), b=round(last_h / 24))

    def _battery(self, table: Table) -> ChartData:
        drawn, planned = _column(table, 1), _column(table, 2)
        stacked = (Series(self.tr("drawn by benches"), drawn, Tone("battery", HATCH.HorPattern)),)
        marks = Series(self.tr("planned"), planned, Tone("text")) if any(planned) else None
        title = self.tr("Energy that benches drew in the dark")
        return ChartData(title, _days(table), stacked, self.tr("kWh"), marks, digits=1)

    def _molds(self, table: Table) -> ChartData:
        labels = tuple(f"{unit} · {mold}" for unit, mold, *_ in table.rows)
        heat, spread = (tuple(100 * one for one in _column(table, ix)) for ix in (2, 3))
        stacked = (Series(self.tr("heat absorbed"), heat, Tone("band")),)
        spans = tuple((one * (1 - wide / 100), one * (1 + wide / 100)) for one, wide in zip(heat, spread, strict=True))
        title = self.tr("What molds absorb, as a share of the physics, and how sure that is")
        return ChartData(title, labels, stacked, "%", spans=spans, line=100.0, lies=True)


def _numbers(values: tuple[str | float, ...]) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _column(table: Table, ix: int) -> tuple[float, ...]:
    return _numbers(tuple(row[ix] for row in table.rows))


def _differences(all_of: tuple[float, ...], some: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(one - other for one, other in zip(all_of, some, strict=True))


def _days(table: Table) -> tuple[str, ...]:
    return tuple(day_text(date.fromisoformat(str(row[0]))) for row in table.rows)


def _signed(share: float) -> str:
    return f"{'+' if share >= 0 else '−'}{percent_text(abs(share))}"
