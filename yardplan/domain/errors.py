"""What can go wrong that is not a bug: a person's or the world's doing, told so that it can be mended."""

from dataclasses import dataclass
from pathlib import Path


class YardplanError(Exception):
    """Base of everything that yardplan raises on purpose."""


class ExpectedError(YardplanError):
    """A person or the world caused it; the text says where, what was expected and what to do."""


class InvalidField(ExpectedError):
    """A value that cannot be true of a yard.

    Parameters
    ----------
    thing, ident : str
        Kind and identity of the record, such as ``"mold"`` and ``"M03"``; no identity where there is only one.
    field : str
        Name of the field at fault, with its unit suffix.
    value : object
        What was found.
    expected : str
        What is allowed, as a phrase that follows "expected".
    """

    def __init__(self, thing: str, ident: str, field: str, value: object, expected: str) -> None:
        self.thing, self.ident, self.field, self.value, self.expected = thing, ident, field, value, expected
        place = f"{thing} {ident}" if ident else thing
        super().__init__(f"{place}: {field} is {value!r}; expected {expected}")


@dataclass(frozen=True)
class RowProblem:
    """One bad place in a file: `row` counts from 1 as a spreadsheet shows it, 0 means the file as a whole.

    `file` names the file where a folder of several is read.
    """

    row: int
    column: str
    text: str
    file: str = ""

    def __str__(self) -> str:
        where = f"row {self.row}" if self.row else ("" if self.file else "file")
        column = f"column {self.column}" if self.column else ""
        place = ", ".join(part for part in (where, column) if part)
        return ": ".join(part for part in (f"{self.file} {place}".strip(), self.text) if part)


class BadFile(ExpectedError):
    """A file that cannot be taken; nothing of it was. Lists every problem found."""

    def __init__(self, path: Path | str, problems: tuple[RowProblem, ...]) -> None:
        self.path, self.problems = Path(path), problems
        lines = "\n".join(f"  {problem}" for problem in problems)
        super().__init__(f"{self.path.name}: nothing was taken, {len(problems)} problem(s):\n{lines}")


class CannotWrite(ExpectedError):
    """A file or folder that could not be written; nothing half-written was left."""

    def __init__(self, path: Path | str, reason: str) -> None:
        self.path = Path(path)
        super().__init__(f"{self.path}: could not be written: {reason}")


class NotThere(ExpectedError):
    """Something that was asked for does not exist; says what there is instead."""

    def __init__(self, thing: str, ident: str, known: str) -> None:
        self.thing, self.ident = thing, ident
        super().__init__(f"there is no {thing} {ident!r}; {known}")


class DatabaseTooNew(ExpectedError):
    """The database was written by a newer yardplan; it was left untouched."""

    def __init__(self, found: str, known: str) -> None:
        self.found, self.known = found, known
        super().__init__(
            f"the database is at version {found}, this program knows versions up to {known}: "
            "nothing was changed; install a newer yardplan or open a backup"
        )


class DatabaseUnreadable(ExpectedError):
    """The database could not be opened or is not one of ours."""

    def __init__(self, url: str, reason: str) -> None:
        self.url, self.reason = url, reason
        super().__init__(f"the database {url} could not be used: {reason}")


class ServiceTrouble(ExpectedError):
    """A forecast service gave nothing that can be used; what was in use before stays so.

    Parameters
    ----------
    service : str
        Its address without what may be secret.
    reason : str
        What happened and what to do, as a phrase that follows the address.
    wait_s : float
        How long the service should be left alone [s].
    """

    def __init__(self, service: str, reason: str, wait_s: float) -> None:
        self.service, self.reason, self.wait_s = service, reason, wait_s
        super().__init__(f"{service} {reason}")


class Contradiction(ExpectedError):
    """A log entry that cannot be true beside the others, or by physics; it was not taken."""

    def __init__(self, entry: str, reason: str) -> None:
        self.entry, self.reason = entry, reason
        super().__init__(f"{entry}: not taken, {reason}")


class ChangedElsewhere(ExpectedError):
    """Another seat changed the same record first; nothing was overwritten."""

    def __init__(self, thing: str, ident: str) -> None:
        self.thing, self.ident = thing, ident
        super().__init__(f"{thing} {ident} was changed at another seat meanwhile; read it again and repeat the edit")


class PublishedMeanwhile(ExpectedError):
    """Another plan came into force since this one was made; this one was not published."""

    def __init__(self, plan_number: int, in_force: int, by: str, reason: str) -> None:
        self.plan_number, self.in_force = plan_number, in_force
        why = f" ({reason})" if reason else ""
        super().__init__(
            f"plan {plan_number} was not published: {by} put plan {in_force} into force since it was made{why}; "
            f"look at `yardplan compare {in_force} {plan_number}`, then plan anew, or publish it with --anyway"
        )


class LocksClash(ExpectedError):
    """Work is locked where it cannot be; nothing was moved. `reasons` are sentences, `cycle_ids` the locked cycles."""

    def __init__(self, reasons: tuple[str, ...], cycle_ids: tuple[str, ...]) -> None:
        self.reasons, self.cycle_ids = reasons, cycle_ids
        super().__init__(
            f"locked work cannot stay where it is, and nothing was moved: {'; '.join(reasons)}; unlock one of "
            f"{', '.join(cycle_ids)}, or move it"
        )


class Refused(ExpectedError):
    """An edit of a plan that would break a rule and cannot be mended by pushing; the plan is as it was."""

    def __init__(self, what: str, reasons: tuple[str, ...]) -> None:
        self.reasons = reasons
        super().__init__(f"{what}: not done; {'; '.join(reasons)}")


class OutOfDate(ExpectedError):
    """What somebody was told no longer rests on what there is; `reasons` say what has changed since."""

    def __init__(self, thing: str, ident: str, reasons: tuple[str, ...]) -> None:
        self.thing, self.ident, self.reasons = thing, ident, reasons
        super().__init__(f"{thing} {ident} is out of date: {'; '.join(reasons)}; ask again before it is promised")


def require(ok: bool, thing: str, ident: str, field: str, value: object, expected: str) -> None:
    """Raise `InvalidField` unless `ok`; for the self-checks of the domain types."""
    if not ok:
        raise InvalidField(thing, ident, field, value, expected)


def require_ranges(row: object, thing: str, ident: str, ranges: dict[str, tuple[float, float]]) -> None:
    """Raise `InvalidField` unless each named field is a number in its range, both ends allowed."""
    for field, (low, high) in ranges.items():
        value = getattr(row, field)
        number = isinstance(value, int | float) and not isinstance(value, bool)
        require(number and low <= value <= high, thing, ident, field, value, f"a number from {low:g} to {high:g}")
