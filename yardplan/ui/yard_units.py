"""Cells of a yard in the units of this seat: what is stored stays metric, as in the files of a yard."""

import re

from yardplan.ui.units import Quantity, is_us, to_shown, to_stored, unit_sign

_BY_SUFFIX = {
    "_m_s": Quantity.SPEED,
    "_m2": Quantity.AREA,
    "_mm": Quantity.WALL,
    "_kg": Quantity.MASS,
    "_m": Quantity.LENGTH,
    "_c": Quantity.TEMPERATURE,
}
_NUMBER = re.compile(r"-?\d+(\.\d+)?(e[+-]?\d+)?")
_DIGITS = 6


def quantity_of(column: str) -> Quantity | None:
    """Return what the numbers of a column measure, by the unit at the end of its name; None for what has one unit."""
    return next((quantity for suffix, quantity in _BY_SUFFIX.items() if column.endswith(suffix)), None)


def shown_head(column: str, head: str) -> str:
    """Return the head of a column, which ends with its metric unit, with the unit that is shown."""
    quantity = quantity_of(column)
    return f"{head.removesuffix(quantity.value.metric)}{unit_sign(quantity)}" if quantity else head


def shown_cell(column: str, text: str) -> str:
    """Return a stored cell as it is shown; what is no number stays as it is."""
    quantity = quantity_of(column)
    if quantity is None or not is_us() or not _NUMBER.fullmatch(text):
        return text
    return f"{to_shown(quantity, float(text)):.{_DIGITS}g}"


def stored_cell(column: str, text: str) -> str:
    """Return a cell that was typed as it is stored."""
    quantity = quantity_of(column)
    if quantity is None or not is_us() or not _NUMBER.fullmatch(text):
        return text
    return f"{round(to_stored(quantity, float(text)), _DIGITS):.10g}"


def shown_problem(column: str, text: str) -> str:
    """Return what is wrong with a cell, its numbers in the unit that is shown."""
    quantity = quantity_of(column)
    if quantity is None or not is_us() or "'" in text:  # in quotes stands what was typed
        return text
    told = _NUMBER.sub(lambda found: f"{to_shown(quantity, float(found[0])):.{_DIGITS}g}", text)
    return re.sub(rf"(?<=\d) {re.escape(quantity.value.metric)}\b", f" {quantity.value.us}", told)
