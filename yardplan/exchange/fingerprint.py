"""A hash by which two questions to the planner can be told apart."""

import hashlib
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np

from yardplan.domain.problem import Problem

_NOT_ASKED = frozenset({"row_version"})
"""Fields that say where a value was read, not what it is."""


def fingerprint(problem: Problem) -> str:
    """Return the SHA-256 of a problem's content in hex: equal content, equal hash, on any machine and day."""
    digest = hashlib.sha256()
    _feed(digest, problem)
    return digest.hexdigest()


def _feed(digest: Any, value: Any) -> None:
    """Feed a value with its kind and length, so that no two values look alike."""
    if is_dataclass(value):
        asked = [field.name for field in fields(value) if field.name not in _NOT_ASKED]
        _tell(digest, type(value).__name__, str(len(asked)))
        for name in asked:
            _tell(digest, "field", name)
            _feed(digest, getattr(value, name))
    elif isinstance(value, np.ndarray):
        _tell(digest, "array", f"{value.dtype.newbyteorder('<').str}{value.shape}")
        digest.update(value.astype(value.dtype.newbyteorder("<")).tobytes())
    elif isinstance(value, frozenset):
        _tell(digest, "set", str(len(value)))
        for part in sorted(value):
            _feed(digest, part)
    elif isinstance(value, tuple):
        _tell(digest, "tuple", str(len(value)))
        for part in value:
            _feed(digest, part)
    elif isinstance(value, datetime):
        _tell(digest, "instant", value.astimezone(UTC).isoformat())
    elif isinstance(value, int | float) and not isinstance(value, bool):
        _tell(digest, "number", repr(float(value)))  # 900 and 900.0 are the same stock
    else:
        _tell(digest, type(value).__name__, str(value))


def _tell(digest: Any, kind: str, text: str) -> None:
    content = text.encode()
    digest.update(f"{kind}:{len(content)}:".encode() + content)
