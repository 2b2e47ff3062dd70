"""Yards as they once were: each version of the yard, and the yard that each plan was made for.

A yard is kept whole as one document under the hash of its content, so that equal ones are kept once. A document is
made and read by the types of the fields of the domain's values: a field that a later program adds is read from an
older document at its default.
"""

import gzip
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime, time
from enum import Enum
from types import NoneType
from typing import Any, cast, get_args, get_origin, get_type_hints

from sqlalchemy import select
from sqlalchemy.orm import Session

from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import NotThere
from yardplan.domain.yard import Yard
from yardplan.store import tables as t
from yardplan.store.columns import value_of


@dataclass(frozen=True)
class YardVersion:
    """A version of the yard: who wrote it when on the yard's clock, and what was changed in words."""

    number: int
    at: datetime
    by: str
    what: str


def keep_yard(session: Session, yard: Yard) -> str:
    """Keep a yard as it is now and return the hash of its content; one that is there already is kept once."""
    content = json.dumps(_plain(yard), ensure_ascii=False, sort_keys=True).encode()
    digest = hashlib.sha256(content).hexdigest()
    if session.get(t.KeptYardRow, digest) is None:
        session.add(t.KeptYardRow(digest=digest, document=gzip.compress(content, mtime=0)))
        session.flush()
    return digest


def keep_yard_version(session: Session, yard: Yard, version: YardVersion) -> None:
    """Keep a version of the yard."""
    digest = keep_yard(session, yard)
    session.add(t.YardVersionRow(number=version.number, at=version.at, by=version.by, what=version.what, digest=digest))


def yard_versions(session: Session) -> tuple[YardVersion, ...]:
    """Return all versions that are kept, the oldest first."""
    rows = session.scalars(select(t.YardVersionRow).order_by(t.YardVersionRow.number))
    return tuple(value_of(YardVersion, row) for row in rows)


def has_yard_version(session: Session, number: int) -> bool:
    """Tell whether a version of the yard is kept."""
    return session.get(t.YardVersionRow, number) is not None


def read_yard_as_of(session: Session, number: int) -> Yard:
    """Return a version of the yard; raises `NotThere` where none such is kept."""
    row = session.get(t.YardVersionRow, number)
    if row is None:
        known = ", ".join(str(version.number) for version in yard_versions(session)) or "none yet"
        raise NotThere("version of the yard", str(number), f"known are {known}")
    return _read_kept(session, row.digest)


def read_yard_of_plan(session: Session, number: int) -> Yard | None:
    """Return the yard that a plan version was made for; None where it was made before yards were kept, or is none."""
    row = session.get(t.PlanRow, number)
    return _read_kept(session, row.yard_digest) if row is not None and row.yard_digest else None


def _read_kept(session: Session, digest: str) -> Yard:
    row = session.get_one(t.KeptYardRow, digest)
    yard: Yard = _value(Yard, json.loads(gzip.decompress(row.document)))
    return yard


def _plain(value: Any) -> Any:
    """Return what JSON knows of a value; sets in order, so that equal values look alike."""
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, MoldCopy):
        return str(value)
    if isinstance(value, frozenset):
        return [_plain(part) for part in sorted(value)]
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, date | time):
        return value.isoformat()
    return value.value if isinstance(value, Enum) else value


def _value(kind: Any, plain: Any) -> Any:
    """Return the value of a type that `_plain` made `plain` of."""
    if get_origin(kind) is None and is_dataclass(kind):
        kinds = get_type_hints(kind)
        return cast(Callable[..., Any], kind)(
            **{name: _value(kinds[name], part) for name, part in plain.items() if name in kinds}
        )
    if kind is MoldCopy:
        mold_id, copy = plain.rsplit("#", 1)
        return MoldCopy(mold_id, int(copy))
    parts = get_args(kind)
    if get_origin(kind) is frozenset:
        return frozenset(_value(parts[0], part) for part in plain)
    if get_origin(kind) is tuple:
        kinds_of_parts = [parts[0]] * len(plain) if parts[-1] is ... else parts
        return tuple(_value(one, part) for one, part in zip(kinds_of_parts, plain, strict=True))
    if NoneType in parts:
        return None if plain is None else _value(parts[0], plain)
    if kind in (date, datetime, time):
        return kind.fromisoformat(plain)
    return kind(plain)
