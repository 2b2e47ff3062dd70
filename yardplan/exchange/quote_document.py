"""A quote as a JSON document and in words; times are ISO 8601 on the yard's clock."""

from datetime import date, datetime, timedelta
from typing import Any

from yardplan.domain.quotes import Earliest, Hold, Limit, Moved, Quote, delivered_on

_OF_WEATHERS = {"p50": "5 of 10", "p80": "8 of 10", "p95": "19 of 20"}


def quote_document(quote: Quote, number: int | None) -> dict[str, Any]:
    """Return a quote as a document, see ``quote.schema.json``; one that is not kept has no number."""
    dates = quote.dates
    return {
        "schema": "yardplan/quote/1",
        "generated_at": quote.made_at.isoformat(),
        "quote_number": number,
        "product": " + ".join(wish.product_id for wish in quote.wishes),
        "quantity": sum(wish.quantity for wish in quote.wishes),
        "wishes": [
            {"product": wish.product_id, "color": wish.color, "quantity": wish.quantity, "from_stock": stock}
            for wish, stock in zip(quote.wishes, dates.from_stock, strict=True)
        ],
        "wish_on": quote.wish_on.isoformat() if quote.wish_on else None,
        "lead_days": quote.lead_days,
        "confidence": quote.confidence,
        **{f"p{100 * row.confidence:.0f}": _date(row, quote) for row in dates.earliest},
        "twentieths": [at.isoformat() for at in dates.twentieths],
        "to_buy": [
            {
                "item": row.item_id,
                "name": row.name,
                "amount": round(row.amount, 3),
                "unit": "kg" if row.is_resin else "pieces",
                "lead_days": row.lead_days,
                "arrives": row.arrives_at.isoformat(),
                "kept_instead": list(row.kept_instead),
            }
            for row in dates.to_buy
        ],
        "moves": None if quote.moves is None else [_moved(row) for row in quote.moves],
        "limited_by": str(dates.limited_by),
        "limit_detail": dates.limit_detail,
        "helps": [
            {
                "more": str(row.limit),
                "what": row.what,
                "ready": row.ready_at.isoformat(),
                "delivered_on": delivered_on(row.ready_at, quote.lead_days).isoformat(),
            }
            for row in dates.helps
        ],
        "plan_number": quote.plan_number,
        "outlook": quote.outlook,
        "known_until": quote.known_until.isoformat(),
        "looked_until": quote.looked_until.isoformat(),
        "state": quote.state,
    }


def _moved(row: Moved) -> dict[str, Any]:
    later = (
        None if row.was_at is None or row.ready_at is None else round((row.ready_at - row.was_at).total_seconds() / 60)
    )
    return {
        "order": row.order_id,
        "customer": row.customer,
        "was": row.was_at.isoformat() if row.was_at else None,
        "ready": row.ready_at.isoformat() if row.ready_at else None,
        "later_min": later,
    }


def _date(found: Earliest, quote: Quote) -> dict[str, Any]:
    ready_at = found.ready_at
    on = delivered_on(ready_at, quote.lead_days) if ready_at else None
    return {
        "ready": ready_at.isoformat() if ready_at else None,
        "delivered_on": on.isoformat() if on else None,
        "meets_wish": None if quote.wish_on is None else on is not None and on <= quote.wish_on,
        "chance": found.chance_frac,
        "pieces_by_wish": found.by_wish,
        "pieces": found.pieces,
        "season_average": ready_at is None or ready_at.date() > quote.known_until,
        "deliveries": [
            {
                "ready": row.at.isoformat(),
                "delivered_on": delivered_on(row.at, quote.lead_days).isoformat(),
                "pieces": row.pieces,
            }
            for row in found.deliveries
        ],
    }


def quote_words(document: dict[str, Any], stale: tuple[str, ...] = ()) -> str:
    """Return a quote in words: dates first, then what limits them, what would help, and what they rest on."""
    wishes = " and ".join(f"{row['quantity']} {row['product']} in {row['color']}" for row in document["wishes"])
    number = document["quote_number"]
    lines = [f"Quote {number}: {wishes}" if number else f"Not kept: {wishes}"]
    if stale:
        lines.append(f"  OUT OF DATE: {'; '.join(stale)}. Ask again before it is promised.")
    stock = sum(row["from_stock"] for row in document["wishes"])
    if stock:
        lines.append(f"  from finished stock: {stock}")
    for key, weathers in _OF_WEATHERS.items():
        lines.append(f"  {_date_words(document[key], document['quantity'], weathers, document['looked_until'])}")
    main = document[f"p{100 * document['confidence']:.0f}"]
    if document["wish_on"]:
        lines.append(f"  {_wish_words(document, main)}")
    parts = [f"{count} by {_day(on)}" for on, count in _by_day(main["deliveries"])]
    if len(parts) > 1:
        lines.append(f"  in parts: {', '.join(parts)}")
    lines.append(f"  {_limit_words(document)}")
    for row in document["helps"]:
        lines.append(f"  {row['what']} would bring it to {_day(row['delivered_on'])}")
    lines += [f"  {buy_words(row)}" for row in document.get("to_buy", ())]
    if document.get("moves") is not None:
        lines.append("  work that is promised to nobody may move; a manager has to plan anew for it:")
        lines += [f"    {_moved_words(row)}" for row in document["moves"]] or ["    nothing would"]
    plan = f"plan {document['plan_number']}" if document["plan_number"] else "no plan yet"
    lines.append(
        f"  based on {plan}; {document['outlook']}; from {_day(_next(document['known_until']))} on: "
        "season average, not forecast"
    )
    return "\n".join(lines)


def buy_words(row: dict[str, Any]) -> str:
    """Return what has to be ordered for a quote."""
    arrives_on = str(datetime.fromisoformat(row["arrives"]).date())
    told = f"{row['amount']:,.0f} {row['unit']} of {row['name']} must be ordered at once, here on {_day(arrives_on)}"
    instead = row["kept_instead"]
    return f"{told}; on hand in another grade: {', '.join(instead)}" if instead else told


def _moved_words(row: dict[str, Any]) -> str:
    was, ready = (datetime.fromisoformat(row[key]) if row[key] else None for key in ("was", "ready"))
    if ready is None:
        return f"order {row['order']} for {row['customer']}: not within the days looked at any more"
    told = f"order {row['order']} for {row['customer']}: ready {_day(str(ready.date()))} at {ready:%H:%M}"
    if was is None:
        return f"{told}; it is in no plan yet"
    hours = row["later_min"] / 60
    return f"{told}, {abs(hours):.1f} h {'later' if hours > 0 else 'earlier'}"


def _date_words(found: dict[str, Any], quantity: int, weathers: str, looked_until: str) -> str:
    if found["ready"] is None:
        have = f"{found['pieces']} of {quantity} pieces" if found["pieces"] else "nothing"
        return f"in {weathers} weathers: {have} by {_day(looked_until)}, the last day looked at"
    season = " (season average, not forecast)" if found["season_average"] else ""
    ready = datetime.fromisoformat(found["ready"])
    there = f", delivered {_day(found['delivered_on'])}" if ready.date().isoformat() != found["delivered_on"] else ""
    return f"{_day(ready.date().isoformat())} at {ready:%H:%M} in at least {weathers} weathers{there}{season}"


def _wish_words(document: dict[str, Any], main: dict[str, Any]) -> str:
    wished = f"wished for {_day(document['wish_on'])}"
    if main["meets_wish"]:
        return f"{wished}: can be promised"
    return f"{wished}: cannot be promised, {main['pieces_by_wish']} of {document['quantity']} pieces by then"


def _limit_words(document: dict[str, Any]) -> str:
    detail = document["limit_detail"]
    match Limit(document["limited_by"]):
        case Limit.TIME:
            return "nothing is short: cooking, cooling, rest and finishing take so long"
        case Limit.SEVERAL:
            return "limited by several things at once, none of which would help alone"
        case limit:
            return f"limited by {detail if detail.startswith(limit) else f'{limit}: {detail}'}"


def _by_day(deliveries: list[dict[str, Any]]) -> list[tuple[str, int]]:
    so_far: dict[str, int] = {}
    total = 0
    for row in deliveries:
        total += row["pieces"]
        so_far[row["delivered_on"]] = total
    return list(so_far.items())


def _next(on: str) -> str:
    return (date.fromisoformat(on) + timedelta(days=1)).isoformat()


def _day(on: str) -> str:
    day = date.fromisoformat(on)
    return f"{day:%a} {day:%b} {day.day}, {day.year}"


def hold_words(hold: Hold) -> str:
    """Return a hold in words; its promise is on the yard's clock."""
    ready = hold.promise_at
    wishes = " and ".join(f"{wish.quantity} {wish.product_id} in {wish.color}" for wish in hold.wishes)
    return (
        f"hold {hold.id} (quote {hold.quote_number}) for {hold.customer or 'nobody named'}: {wishes}, "
        f"ready {_day(ready.date().isoformat())} at {ready:%H:%M}, "
        f"kept until the end of {_day(hold.until_on.isoformat())}"
    )
