"""Months ahead as a JSON document, in words and as CSV."""

import csv
from datetime import date, datetime
from io import StringIO
from typing import Any

from yardplan.domain.season import Season


def season_document(found: Season, *, generated_at: datetime) -> dict[str, Any]:
    """Return months ahead as a document, see ``season.schema.json``."""
    months = sorted({row.first_on for row in found.months})
    return {
        "schema": "yardplan/season/1",
        "generated_at": generated_at.isoformat(),
        "source": found.source,
        "months": [
            {
                "month": f"{first_on:%Y-%m}",
                "taken_frac": round(found.taken_frac(first_on), 4),
                "products": [
                    {
                        "product": row.product_id,
                        "p10": row.p10,
                        "p50": row.p50,
                        "p90": row.p90,
                        "ordered": row.ordered,
                        "limited_by": str(row.limited_by),
                        "units": [{"unit": unit_id, "pieces": pieces} for unit_id, pieces in row.by_unit],
                    }
                    for row in found.months
                    if row.first_on == first_on
                ],
            }
            for first_on in months
        ],
    }


def season_words(document: dict[str, Any]) -> str:
    """Return months ahead in words: a table for each month."""
    lines = [
        "What the yard can make of each product in a month if it makes nothing else: pieces in at least",
        f"9, 5 and 1 of 10 such months. Season average, not forecast: {document['source']}",
    ]
    for month in document["months"]:
        first_on = date.fromisoformat(f"{month['month']}-01")
        lines.append(f"{first_on:%B %Y}: the order book takes {month['taken_frac']:.0%} of it")
        for row in month["products"]:
            units = ", ".join(f"{one['unit']} {one['pieces']}" for one in row["units"] if one["pieces"])
            ordered = f", {row['ordered']} ordered" if row["ordered"] else ""
            lines.append(
                f"  {row['product']:14} {row['p10']:6} {row['p50']:6} {row['p90']:6}  limited by {row['limited_by']}"
                f"{ordered}{'; ' + units if units else ''}"
            )
    return "\n".join(lines)


def season_csv(document: dict[str, Any]) -> str:
    """Return months ahead as CSV: a row for each month and product, a column for each unit."""
    units = [one["unit"] for one in document["months"][0]["products"][0]["units"]] if document["months"] else []
    told = StringIO()
    writer = csv.writer(told, lineterminator="\n")
    writer.writerow(["month", "product", "p10", "p50", "p90", "ordered", "limited_by", *units])
    for month in document["months"]:
        for row in month["products"]:
            writer.writerow(
                [
                    month["month"], row["product"], row["p10"], row["p50"], row["p90"], row["ordered"],
                    row["limited_by"], *(one["pieces"] for one in row["units"]),
                ]
            )  # fmt: skip
    return told.getvalue()
