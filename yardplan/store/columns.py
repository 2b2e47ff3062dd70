"""How values become columns, the same on SQLite and PostgreSQL."""

import operator
from dataclasses import fields
from datetime import UTC, date, datetime
from enum import Enum
from typing import TYPE_CHECKING, Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import DeclarativeBase

from yardplan.domain.equipment import MoldCopy

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Words = tuple[str, ...]
"""A list of plain words in one column, such as the crew of a job."""

Dates = tuple[date, ...]
"""A list of days in one column."""


class UtcDateTime(sa.TypeDecorator[datetime]):
    """An instant: naive values are refused, what is read is aware and in UTC."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        """Return the instant in UTC."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no offset from UTC, so it is not an instant")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        """Return the instant in UTC; SQLite gives it back without its offset, PostgreSQL in the server's zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Whole(sa.TypeDecorator[int]):
    """A whole number; one of numpy's, which SQLite would keep as unreadable bytes, becomes a plain one."""

    impl = sa.BigInteger
    cache_ok = True

    def process_bind_param(self, value: int | None, dialect: sa.Dialect) -> int | None:
        """Return a plain int; refuse what is not whole."""
        return None if value is None else operator.index(value)


class WordList(sa.TypeDecorator[Words]):
    """A tuple of words as a JSON list."""

    impl = sa.JSON
    cache_ok = True

    def process_bind_param(self, value: Words | None, dialect: sa.Dialect) -> list[str] | None:
        """Return what JSON knows."""
        return None if value is None else list(value)

    def process_result_value(self, value: list[str] | None, dialect: sa.Dialect) -> Words | None:
        """Return what the domain knows."""
        return None if value is None else tuple(value)


class DateList(sa.TypeDecorator[Dates]):
    """A tuple of days as a JSON list of ISO dates."""

    impl = sa.JSON
    cache_ok = True

    def process_bind_param(self, value: Dates | None, dialect: sa.Dialect) -> list[str] | None:
        """Return what JSON knows."""
        return None if value is None else [on.isoformat() for on in value]

    def process_result_value(self, value: list[str] | None, dialect: sa.Dialect) -> Dates | None:
        """Return what the domain knows."""
        return None if value is None else tuple(date.fromisoformat(text) for text in value)


class MoldCopyWord(sa.TypeDecorator[MoldCopy]):
    """A physical mold as it is written, ``M03#2``."""

    impl = sa.String
    cache_ok = True

    def process_bind_param(self, value: MoldCopy | None, dialect: sa.Dialect) -> str | None:
        """Return it as one word."""
        return None if value is None else str(value)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> MoldCopy | None:
        """Return its two parts."""
        if value is None:
            return None
        mold_id, copy = value.rsplit("#", 1)
        return MoldCopy(mold_id, int(copy))


class Row(DeclarativeBase):
    """Base of all rows. Constraints get names by rule, since a table of SQLite is altered by naming them."""

    metadata = sa.MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads this name from the class
        datetime: UtcDateTime,
        int: Whole,
        float: sa.Double,
        Words: WordList,
        Dates: DateList,
        MoldCopy: MoldCopyWord,
        # Values, not names, and no constraint: another word needs no migration.
        Enum: sa.Enum(Enum, native_enum=False, length=40, values_callable=lambda kind: [one.value for one in kind]),
    }


_Value = TypeVar("_Value", bound="DataclassInstance")


def value_of(kind: type[_Value], row: Row, **rest: Any) -> _Value:
    """Return the domain value in a row: each field from the column of its name, or from `rest`.

    A field without a column is an `AttributeError`, never a silent default.
    """
    return kind(**{one.name: rest[one.name] if one.name in rest else getattr(row, one.name) for one in fields(kind)})


def columns_of(kind: type[Row], value: "DataclassInstance", **rest: Any) -> dict[str, Any]:
    """Return the columns of a row for a domain value: fields that have a column of their name, and `rest`."""
    columns = sa.inspect(kind).columns
    return {one.name: getattr(value, one.name) for one in fields(value) if one.name in columns} | rest
