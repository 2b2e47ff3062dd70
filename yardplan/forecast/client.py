"""Ask a forecast service over HTTPS, politely: who asks is told, nothing is asked twice, a refusal is respected.

Source of what the headers and status codes mean: RFC 9110, HTTP Semantics, and RFC 9111, HTTP Caching, 2022; RFC 6585
for 429.
"""

import ipaddress
import json
import ssl
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from http.client import HTTPException
from time import perf_counter
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import SplitResult, urljoin, urlsplit
from urllib.request import HTTPRedirectHandler, OpenerDirector, ProxyHandler, Request, build_opener

import numpy as np

from yardplan.domain.errors import ServiceTrouble

LONGEST_REST = timedelta(hours=24)
"""However far away an answer expires, after so long it is asked for again."""

USUAL_REST = timedelta(minutes=30)
"""How long an answer holds that does not say it."""

_TRY_AGAIN = frozenset({429, 500, 502, 503, 504})
_MOVED = frozenset({301, 302, 303, 307, 308})
_MINUTE_S = 60.0


@dataclass(frozen=True)
class Patience:
    """How long and how often to try.

    Attributes
    ----------
    silence_s, total_s : float
        Longest silence of the line, and longest time for one answer in all [s].
    tries : int
        Requests before giving up; redirects count on their own.
    first_wait_s, longest_wait_s : float
        Wait before the second try, doubled for each further one and spread by half of it either way [s]; a service
        that wants more time than the longest wait is left alone for it instead.
    largest_bytes : int
        Largest answer, packed or unpacked.
    """

    silence_s: float = 10.0
    total_s: float = 40.0
    tries: int = 4
    first_wait_s: float = 2.0
    longest_wait_s: float = 60.0
    largest_bytes: int = 5_000_000
    redirects: int = 3


PATIENT = Patience()
"""The usual patience."""


@dataclass(frozen=True)
class Answer:
    """What came back.

    Attributes
    ----------
    body : bytes or None
        The document, unpacked; None if it has not changed since the one asked about.
    etag, last_modified : str
        To be sent as they are with the next question; empty where not given.
    expires_at : datetime
        Before this instant the service is not to be asked again.
    warnings : tuple of str
        What the service wants its user to know, in words.
    """

    body: bytes | None
    etag: str
    last_modified: str
    expires_at: datetime
    warnings: tuple[str, ...] = ()


def ask(
    url: str,
    *,
    user_agent: str,
    now: datetime,
    sleep: Callable[[float], None],
    rng: np.random.Generator,
    etag: str = "",
    last_modified: str = "",
    patience: Patience = PATIENT,
) -> Answer:
    """Ask for a document, or whether it has changed.

    Parameters
    ----------
    url : str
        An address of https, or of http on this computer.
    sleep : callable
        Called with the seconds to wait before another try.
    rng : numpy.random.Generator
        Spreads the waits, so that many yards do not come back at once.
    etag, last_modified : str
        As the newest answer had them; then only a changed document is sent.

    Raises
    ------
    ServiceTrouble
        If there is no answer in the end; says why, and for how long to leave the service alone.
    """
    asking = _Asking(url, user_agent, now, etag, last_modified, patience)
    for attempt in range(1, patience.tries + 1):
        try:
            return asking.once()
        except _Passing as trouble:
            wait_s = patience.first_wait_s * 2 ** (attempt - 1) * rng.uniform(0.5, 1.5)
            wait_s = max(wait_s, trouble.retry_after_s)
            if attempt == patience.tries or wait_s > patience.longest_wait_s:
                rest_s = max(trouble.rest_s, trouble.retry_after_s)
                times = f"{attempt} time{'s' if attempt > 1 else ''}"
                raise ServiceTrouble(asking.name, f"{trouble.reason} (asked {times})", rest_s) from trouble
            sleep(wait_s)
    raise AssertionError("the last try returns or raises")


def shown(url: str) -> str:
    """Return an address without its scheme and what may be secret: a query, a name and a password."""
    plain = url.partition("?")[0]
    host, slash, path = (plain.partition("//")[2] or plain).partition("/")
    return host.rpartition("@")[2] + slash + path


def address_trouble(url: str) -> str:
    """Return why a service at this address is not asked, empty if it may be: https anywhere, http on this computer."""
    try:
        where = urlsplit(url)
        known = where.scheme in ("http", "https") and bool(where.hostname) and where.port != 0
    except ValueError:
        known = False
    if not known or not url.isascii() or any(sign <= " " for sign in url):
        return "is no address of a service; expected one that begins with https://"
    if where.scheme == "http" and not _is_here(where):
        return f"is or leads to {shown(url)} without encryption; expected https"
    return ""


class _Passing(Exception):
    """A trouble that may be over with the next try."""

    def __init__(self, reason: str, rest_s: float = 10 * _MINUTE_S, retry_after_s: float = 0.0) -> None:
        super().__init__(reason)
        self.reason, self.rest_s, self.retry_after_s = reason, rest_s, retry_after_s


class _NoRedirects(HTTPRedirectHandler):
    """Leaves redirects to `_Asking`, which looks where they lead."""

    def redirect_request(self, *_: Any) -> None:
        return None


class _Asking:
    """One question, asked once or more."""

    def __init__(
        self, url: str, user_agent: str, now: datetime, etag: str, last_modified: str, patience: Patience
    ) -> None:
        self._url, self._now, self._patience = url, now, patience
        self._headers = {"User-Agent": user_agent, "Accept": "application/json", "Accept-Encoding": "gzip"}
        if etag:
            self._headers["If-None-Match"] = etag
        if last_modified:
            self._headers["If-Modified-Since"] = last_modified
        self._conditional = bool(etag or last_modified)
        self.name = shown(url)

    def once(self) -> Answer:
        """Send one request and those that redirects ask for."""
        url, warnings = self._url, []
        for _ in range(self._patience.redirects + 1):
            where = self._checked(url)
            deadline_s = perf_counter() + self._patience.total_s
            try:
                with _opener(where).open(Request(url, headers=self._headers), timeout=self._patience.silence_s) as got:
                    if got.status == 203:
                        warnings.append("the service says that this version of its data is ending or on trial (203)")
                    return self._answer(got.headers, self._unpacked(got, deadline_s), tuple(warnings))
            except HTTPError as refusal:
                with refusal:
                    if refusal.code == 304 and self._conditional:
                        return self._answer(refusal.headers, None, tuple(warnings))
                    if refusal.code not in _MOVED or "Location" not in refusal.headers:
                        raise self._refused(refusal) from refusal
                    url = urljoin(url, refusal.headers["Location"])
                    if refusal.code in (301, 308):
                        warnings.append(f"the service has moved for good to {shown(url)}")
            except URLError as error:
                if isinstance(error.reason, ssl.SSLCertVerificationError):
                    proof = f"could not prove who it is ({error.reason.verify_message})"
                    raise self._lasting(f"{proof}; is the clock of this computer right?") from error
                raise _Passing(f"could not be reached: {error.reason}") from error
            except TimeoutError as error:
                raise _Passing("stopped answering") from error
            except (OSError, HTTPException) as error:
                raise _Passing(f"broke off: {error}" if str(error) else "broke off") from error
        raise self._lasting(f"redirects more than {self._patience.redirects} times")

    def _lasting(self, reason: str) -> ServiceTrouble:
        """Return a trouble that another try would not mend."""
        return ServiceTrouble(self.name, reason, 60 * _MINUTE_S)

    def _checked(self, url: str) -> SplitResult:
        if trouble := address_trouble(url):
            raise self._lasting(trouble)
        where = urlsplit(url)
        if where.scheme == "http" and not _is_here(urlsplit(self._url)):
            raise self._lasting("leads to an address on this computer; expected https")
        return where

    def _unpacked(self, got: Any, deadline_s: float) -> bytes:
        """Return the whole body within the limits of time and size."""
        packing = got.headers.get("Content-Encoding", "identity").strip().lower()
        if packing not in ("gzip", "identity"):
            raise self._lasting(f"packs its answer as {packing!r}; expected gzip or none")
        largest = self._patience.largest_bytes
        unpack = zlib.decompressobj(wbits=31) if packing == "gzip" else None
        body, received = bytearray(), 0
        while part := got.read1(65536):
            received += len(part)
            try:
                body += unpack.decompress(part, largest + 1 - len(body)) if unpack else part
            except zlib.error as error:
                raise _Passing(f"sent what cannot be unpacked: {error}") from error
            if len(body) > largest or received > largest:
                raise self._lasting(f"answers with more than {largest:,} bytes, too large for a forecast")
            if perf_counter() > deadline_s:
                raise _Passing(f"took longer than {self._patience.total_s:g} s for its answer")
        stated = got.headers.get("Content-Length", "")
        if (stated.isdecimal() and received != int(stated)) or (unpack and not unpack.eof):
            raise _Passing(f"broke off after {received:,} bytes")
        return bytes(body)

    def _refused(self, refusal: HTTPError) -> ServiceTrouble | _Passing:
        """Return what a status means that is no answer."""
        code = refusal.code
        reason = _stated_reason(refusal)
        if code in _TRY_AGAIN:
            what = "wants to be asked less often" if code == 429 else "has a trouble of its own"
            rest_s = (30 if code == 429 else 10) * _MINUTE_S
            stated = refusal.headers.get("Retry-After", "").strip()
            after = timedelta(seconds=min(int(stated[:9]), 86400)) if stated.isdecimal() else None
            after = self._until(refusal.headers, "Retry-After") if after is None else after
            return _Passing(f"{what} ({code}){reason}", rest_s, after.total_seconds())
        told = {
            401: "wants a key (401); put it into the address as its makers say",
            403: "refuses (403): it blocks who does not say who asks, or asks too often; set a contact that is read",
            404: "has nothing there (404); look at the address, or it does not cover this place",
            304: "says that nothing has changed (304), though it was not asked",
        }
        return self._lasting(told.get(code, f"refuses ({code})") + reason)

    def _answer(self, headers: Any, body: bytes | None, warnings: tuple[str, ...]) -> Answer:
        rest = self._until(headers, "Expires") if "Expires" in headers else USUAL_REST
        etag, last_modified = headers.get("ETag", ""), headers.get("Last-Modified", "")
        return Answer(body, etag, last_modified, self._now + rest, warnings)

    def _until(self, headers: Any, name: str) -> timedelta:
        """Return the time from now to the date in a header, none where it is past or no date.

        Counted from the date that the service sent it, so that a wrong clock of this computer does not matter.
        """
        at = _date(headers.get(name))
        rest = at - (_date(headers.get("Date")) or self._now) if at else timedelta()
        return min(max(rest, timedelta()), LONGEST_REST)


def _opener(where: SplitResult) -> OpenerDirector:
    return build_opener(_NoRedirects, *([ProxyHandler({})] if _is_here(where) else []))


def _is_here(where: SplitResult) -> bool:
    """Tell whether an address is on this computer."""
    if where.hostname == "localhost":
        return True
    try:
        return ipaddress.ip_address(where.hostname or "").is_loopback
    except ValueError:
        return False


def _stated_reason(refusal: HTTPError) -> str:
    """Return the reason in a JSON body, in words to be added, or nothing."""
    try:
        stated = json.loads(refusal.read(4096))["reason"]
    except (OSError, HTTPException, ValueError, KeyError, TypeError, RecursionError):
        return ""
    return f": it says {str(stated)[:200]!r}"


def _date(text: str | None) -> datetime | None:
    """Return the instant in a header, None where there is none or it is not a date."""
    try:
        at = parsedate_to_datetime(text or "")
    except ValueError:
        return None
    return at if at.tzinfo else at.replace(tzinfo=UTC)
