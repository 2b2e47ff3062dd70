"""How the yard did, as a JSON document, in plain words, and its tables as CSV; times are on the yard's clock."""

import csv
import io
from datetime import datetime
from pathlib import Path
from typing import Any

from yardplan.domain.review import Figure, Review, Table
from yardplan.domain.slots import zone
from yardplan.exchange.calibration_document import drift_words
from yardplan.exchange.cells import shielded
from yardplan.exchange.rows import write_whole


def review_document(found: Review) -> dict[str, Any]:
    """Return a review as a document, see ``review.schema.json``; null where a figure cannot be worked out."""
    tz = zone(found.tz)

    def local(at: datetime) -> str:
        return at.astimezone(tz).isoformat()

    return {
        "schema": "yardplan/review/1",
        "generated_at": local(found.end_at),
        "first_day": found.first_on.isoformat(),
        "figures": [_figure_row(one, local(one.start_at), local(one.end_at)) for one in found.figures],
        "tables": {
            table.id: [dict(zip(table.columns, row, strict=True)) for row in table.rows]
            for table in found.tables.values()
        },
        "warnings": [drift_words(drift, tz) for drift in found.calibrated.drifts] if found.calibrated else [],
    }


def _figure_row(one: Figure, start: str, end: str) -> dict[str, Any]:
    return {
        **{
            name: getattr(one.card, name) for name in ("id", "name", "scope", "formula", "unit", "low", "high", "trend")
        },
        **{name: getattr(one.card, name) for name in ("timing", "audience", "source")},
        "value": None if one.value is None else round(one.value, 6),
        "counts": [{"what": what, "count": round(count, 4)} for what, count in one.counts],
        "start": start,
        "end": end,
        "note": one.note,
    }


def review_words(document: dict[str, Any]) -> str:
    """Return what a review document says, in plain words: figures with their counts, then what was lost and why."""
    until = document["generated_at"][:16].replace("T", " ")
    lines = [f"From {document['first_day']} until {until}"]
    for row in document["figures"]:
        if row["value"] is None:
            lines.append(f"  {row['name']}: not known, {row['note']}")
            continue
        value = f"{row['value']:.1%}" if not row["unit"] else f"{row['value']:.2f} {row['unit']}"
        counts = ", ".join(f"{one['what']} {_short(one['count'])}" for one in row["counts"])
        note = f"; {row['note']}" if row["note"] else ""
        lines.append(f"  {row['name']}: {value} ({counts}){note}")
    lines += [
        f"  lost: {row['reason']}: {row['scrapped']} scrapped, {row['rework']} to rework"
        for row in document["tables"]["losses"]
    ]
    lines += [f"  not begun in time: {row['cause']}, {row['starts']} times" for row in document["tables"]["causes"]]
    return "\n".join([*lines, *document["warnings"], "Formulas and tables are in the JSON document (--json)."])


def _short(count: float) -> str:
    return f"{count:.2f}" if abs(count) < 1 and count else f"{count:.1f}".removesuffix(".0")


def write_table(path: Path, table: Table) -> None:
    """Write the rows behind a chart as CSV; text that a spreadsheet would take for a formula is shielded."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows([[shielded(cell) if isinstance(cell, str) else cell for cell in row] for row in table.rows])
    write_whole(path, text.getvalue())
