"""What a yard can make months ahead."""

from dataclasses import dataclass
from datetime import date

from yardplan.domain.quotes import Limit


@dataclass(frozen=True)
class MonthOutput:
    """What the yard could make of one product in a month if it made nothing else.

    Attributes
    ----------
    first_on : date
        First day of the month.
    p10, p50, p90 : int
        Pieces through finishing: at least so many in 9, 5 and 1 of 10 such months.
    by_unit : tuple of (unit id, pieces)
        Where they are molded at the median.
    limited_by : Limit
        What there would have to be more of for more pieces on a middling day.
    ordered : int
        Pieces in the order book that are due in the month.
    """

    first_on: date
    product_id: str
    p10: int
    p50: int
    p90: int
    by_unit: tuple[tuple[str, int], ...]
    limited_by: Limit
    ordered: int


@dataclass(frozen=True)
class Season:
    """Months ahead from a typical year.

    Attributes
    ----------
    months : tuple of MonthOutput
        By month, then by product in the yard's order.
    source : str
        The weather behind it, in words.
    """

    months: tuple[MonthOutput, ...]
    source: str

    def taken_frac(self, first_on: date) -> float:
        """Return the share of a month that the order book takes: each product's part of what the yard could make."""
        rows = [row for row in self.months if row.first_on == first_on]
        return sum(row.ordered / row.p50 for row in rows if row.p50)
