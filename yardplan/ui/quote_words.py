"""Quotes and holds as sentences in the language of this seat; a quote is taken as its document."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from PySide6.QtCore import QObject

from yardplan.domain.quotes import Hold, Limit, Wish
from yardplan.domain.risk import of_twenty
from yardplan.domain.yard import Yard
from yardplan.ui.dates import clock_text, day_text, decimal_text, long_day_text

CONFIDENCES = ("p50", "p80", "p95")


@dataclass(frozen=True)
class DateWords:
    """A date at one confidence: in how many weathers it holds, the day, and what is to be known about it."""

    weathers: str
    day: str
    note: str
    is_main: bool


class QuoteWords(QObject):
    """Tells about quotes on one yard's products."""

    def __init__(self, yard: Yard) -> None:
        super().__init__()
        self._names = {product.id: product.name for product in yard.products}

    def wishes(self, document: dict[str, Any]) -> str:
        """Return what was asked for."""
        rows = document["wishes"]
        return ", ".join(self._pieces(row["product"], row["color"], row["quantity"]) for row in rows)

    def title(self, document: dict[str, Any]) -> str:
        """Return the quote's number and what it is for."""
        if not document["quote_number"]:
            return self.tr("Not kept: {what}").format(what=self.wishes(document))
        return self.tr("Quote {number}: {what}").format(number=document["quote_number"], what=self.wishes(document))

    def dates(self, document: dict[str, Any]) -> tuple[DateWords, ...]:
        """Return the dates at the three confidences."""
        weathers = (
            self.tr("in at least 5 of 10 weathers"),
            self.tr("in at least 8 of 10 weathers"),
            self.tr("in at least 19 of 20 weathers"),
        )
        main = main_key(document)
        rows = (self._date(document[key], document) for key in CONFIDENCES)
        return tuple(
            DateWords(told, day, note, key == main)
            for key, told, (day, note) in zip(CONFIDENCES, weathers, rows, strict=True)
        )

    def _date(self, found: dict[str, Any], document: dict[str, Any]) -> tuple[str, str]:
        if found["ready"] is None:
            told = self.tr("not by {day}").format(day=_day(document["looked_until"]))
            have = self.tr("{n} of {all} pieces by then").format(n=found["pieces"], all=document["quantity"])
            return told, have
        ready = datetime.fromisoformat(found["ready"])
        notes = [self.tr("ready {at}").format(at=clock_text(ready))]
        if document["lead_days"]:
            notes = [self.tr("leaves {day} {at}").format(day=day_text(ready), at=clock_text(ready))]
        notes.append(self.tr("season average, not forecast") if found["season_average"] else self.tr("by the forecast"))
        chance = found.get("chance")
        if chance is not None:
            notes.append(self.tr("reached in {n} of 20 skies").format(n=of_twenty(chance)))
        return _day(found["delivered_on"]), ", ".join(notes)

    def wish(self, document: dict[str, Any]) -> str:
        """Return whether the wished day can be promised; empty where none was wished."""
        if not document["wish_on"]:
            return ""
        main, day = document[main_key(document)], _day(document["wish_on"])
        if main["meets_wish"]:
            return self.tr("{day} is wished: it can be promised.").format(day=day)
        return self.tr("{day} is wished: it cannot be promised, {n} of {all} pieces are there by then.").format(
            day=day, n=main["pieces_by_wish"], all=document["quantity"]
        )

    def stock(self, document: dict[str, Any]) -> str:
        """Return what comes from finished stock; empty where nothing does."""
        n = sum(row["from_stock"] for row in document["wishes"])
        return self.tr("{n} pieces lie finished and are nobody's; they go first.").format(n=n) if n else ""

    def buy(self, document: dict[str, Any]) -> tuple[str, ...]:
        """Return what has to be ordered at once, and why what is on hand does not do."""
        found = []
        for row in document.get("to_buy", ()):
            told = self.tr("{amount} of {name} must be ordered at once; it takes {n} days and is here on {day}").format(
                amount=self._amount(row), name=row["name"], n=row["lead_days"], day=_day(row["arrives"][:10])
            )
            if row["kept_instead"]:
                told += self.tr("; on hand in another grade: {others}").format(others=", ".join(row["kept_instead"]))
            found.append(f"{told}.")
        return tuple(found)

    def _amount(self, row: dict[str, Any]) -> str:
        told = decimal_text(row["amount"], 0)
        return self.tr("{n} kg").format(n=told) if row["unit"] == "kg" else self.tr("{n} pieces").format(n=told)

    def moves(self, document: dict[str, Any]) -> tuple[str, ...]:
        """Return who would give way by how much; nothing where nothing may move."""
        if document.get("moves") is None:
            return ()
        told = [self._moved(row) for row in document["moves"]] or [self.tr("nothing would move")]
        head = self.tr("For these dates, at most this moves (nothing that is promised; a manager has to plan anew):")
        return (head, *told)

    def _moved(self, row: dict[str, Any]) -> str:
        who = self.tr("{order} for {customer}").format(order=row["order"], customer=row["customer"])
        if row["ready"] is None:
            return self.tr("{who}: not within the days looked at any more").format(who=who)
        day = day_text(datetime.fromisoformat(row["ready"]))
        if row["later_min"] is None:
            return self.tr("{who}: {day}; it is in no plan yet").format(who=who, day=day)
        hours = decimal_text(abs(row["later_min"]) / 60, 0)
        told = self.tr("{who}: {day}, {h} h later") if row["later_min"] > 0 else self.tr("{who}: {day}, {h} h earlier")
        return told.format(who=who, day=day, h=hours)

    def limit(self, document: dict[str, Any]) -> str:
        """Return what keeps the date from being earlier."""
        told = {
            Limit.SUN: self.tr("Sun: fields and chambers are taken until then"),
            Limit.MOLD: self.tr("Molds: each copy is in use until then"),
            Limit.CREW: self.tr("Crew: nobody is free to handle the molds before"),
            Limit.FINISHING: self.tr("Finishing: benches, people at them or electricity are short"),
            Limit.RESIN: self.tr("Resin or inserts are short"),
            Limit.TIME: self.tr("Nothing is short: cooking, cooling, rest and finishing take so long"),
            Limit.SEVERAL: self.tr("Several things at once, none of which would help alone"),
        }[Limit(document["limited_by"])]
        detail = document["limit_detail"]
        return f"{told} ({detail})." if detail else f"{told}."

    def helps(self, document: dict[str, Any]) -> tuple[str, ...]:
        """Return what would bring it forward, tried out."""
        return tuple(
            self.tr("{what}: {day}").format(what=_capital(row["what"]), day=_day(row["delivered_on"]))
            for row in document["helps"]
        )

    def parts(self, document: dict[str, Any]) -> tuple[str, ...]:
        """Return how many pieces can be with the customer by which day; nothing where all come at once."""
        so_far: dict[str, int] = {}
        total = 0
        for row in document[main_key(document)]["deliveries"]:
            total += row["pieces"]
            so_far[row["delivered_on"]] = total
        if len(so_far) < 2:
            return ()
        return tuple(self.tr("{n} by {day}").format(n=n, day=_day(on)) for on, n in so_far.items())

    def basis(self, document: dict[str, Any]) -> str:
        """Return the plan and the outlook that it rests on."""
        plan = document["plan_number"]
        made = datetime.fromisoformat(document["generated_at"])
        after = date.fromisoformat(document["known_until"]) + timedelta(days=1)
        return self.tr("Asked {at} on {plan}; {outlook}; from {day} on: season average, not forecast.").format(
            at=f"{day_text(made)} {clock_text(made)}",
            plan=self.tr("plan {n}").format(n=plan) if plan else self.tr("no plan"),
            outlook=document["outlook"],
            day=long_day_text(after),
        )

    def row(self, document: dict[str, Any], stale: tuple[str, ...], *, is_kept: bool) -> str:
        """Return a quote in one line of a list."""
        on = document[main_key(document)]["delivered_on"]
        day = _day(on) if on else self.tr("no date")
        told = f"{self.title(document)}: {day}"
        if is_kept:
            return self.tr("Kept. {quote}").format(quote=told)
        return self.tr("Out of date. {quote}").format(quote=told) if stale else told

    def hold(self, hold: Hold) -> str:
        """Return a hold in one line of a list."""
        return self.tr("{id}, {who}: {what}, ready {day}; kept to the end of {until}").format(
            id=hold.id,
            who=hold.customer or self.tr("nobody named"),
            what=", ".join(self._wish(wish) for wish in hold.wishes),
            day=long_day_text(hold.promise_at),
            until=long_day_text(hold.until_on),
        )

    def mail(self, document: dict[str, Any], held: Hold | None) -> str:
        """Return a quote as text for a customer: no names of ours but the quote's number."""
        rows = self.dates(document)
        main = next(row for row in rows if row.is_main)
        lines = [self.title(document), ""]
        if document[main_key(document)]["ready"] is None:
            lines.append(self.tr("We can give no date for all of it yet: {told}.").format(told=main.note))
        elif document["lead_days"]:
            told = self.tr("We expect it to be with you on {day} ({n} days on the way).")
            lines.append(told.format(day=main.day, n=document["lead_days"]))
        else:
            lines.append(self.tr("We expect it to be ready on {day}.").format(day=main.day))
        for row in rows:
            lines.append(f"- {row.day}: {row.weathers}" if row.day else f"- {row.weathers}")
        parts = self.parts(document)
        if parts:
            lines.append(self.tr("It can come in parts: {parts}.").format(parts="; ".join(parts)))
        lines.append(
            self.tr("We mold by sunlight, so these dates go with the weather.")
            if not document[main_key(document)]["season_average"]
            else self.tr("We mold by sunlight; this far ahead the dates are season average, not forecast.")
        )
        if held:
            lines.append(self.tr("We keep this for you to the end of {day}.").format(day=long_day_text(held.until_on)))
        else:
            lines.append(self.tr("Nothing is kept for you yet; the dates may change until you order."))
        return "\n".join(lines)

    def _wish(self, wish: Wish) -> str:
        return self._pieces(wish.product_id, wish.color, wish.quantity)

    def _pieces(self, product_id: str, color: str, quantity: int) -> str:
        name = self._names.get(product_id, product_id)
        return self.tr("{n} {product}, {color}").format(n=quantity, product=name, color=color)


def main_key(document: dict[str, Any]) -> str:
    """Return the key of the date at the planning confidence."""
    return f"p{100 * document['confidence']:.0f}"


def _day(on: str) -> str:
    return long_day_text(date.fromisoformat(on))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
