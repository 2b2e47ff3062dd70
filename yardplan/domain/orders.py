"""What customers asked for."""

from dataclasses import dataclass
from datetime import datetime

from yardplan.domain.errors import require
from yardplan.domain.yard import Yard


@dataclass(frozen=True)
class Order:
    """One product in one color for one customer.

    Attributes
    ----------
    due_at : datetime
        What the customer asked: everything finished by this instant. A date in a file means its local midnight's end.
    promise_at : datetime or None
        What we said, if we said something; the plan holds this above all else.
    priority : int
        Weight of a day late, 1 to 9.
    row_version : int
        Version of the stored row that this was read from; 0 for a new one.
    """

    id: str
    customer: str
    product_id: str
    color: str
    quantity: int
    due_at: datetime
    promise_at: datetime | None = None
    priority: int = 1
    note: str = ""
    row_version: int = 0

    def __post_init__(self) -> None:
        require(bool(self.id.strip()), "order", self.id, "id", self.id, "a number that is not blank")
        whole = isinstance(self.quantity, int) and not isinstance(self.quantity, bool)
        require(
            whole and 1 <= self.quantity <= 100_000,
            "order",
            self.id,
            "quantity",
            self.quantity,
            "a whole number of pieces from 1 to 100,000",
        )
        require(1 <= self.priority <= 9, "order", self.id, "priority", self.priority, "1 to 9")
        for field in ("due_at", "promise_at"):
            at = getattr(self, field)
            require(at is None or at.tzinfo is not None, "order", self.id, field, at, "a time with its offset")

    @property
    def goal_at(self) -> datetime:
        """The instant that the plan works toward: the promise where there is one, else the due date."""
        return self.promise_at or self.due_at


def check_orders(orders: tuple[Order, ...], yard: Yard) -> None:
    """Raise `InvalidField` unless every order is for something that this yard makes, and numbers are unique."""
    seen: set[str] = set()
    products = {product.id: product for product in yard.products}
    for order in orders:
        require(order.id not in seen, "order", order.id, "id", order.id, "a number that no other order has")
        seen.add(order.id)
        require(
            order.product_id in products,
            "order",
            order.id,
            "product",
            order.product_id,
            f"one of {', '.join(sorted(products))}",
        )
        grade = products[order.product_id].resin_grade
        colors = sorted(item.color for item in yard.items if item.grade == grade)
        require(
            order.color in colors,
            "order",
            order.id,
            "color",
            order.color,
            f"a color in which resin {grade} is kept: {', '.join(colors)}",
        )
