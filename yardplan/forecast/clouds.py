"""Clouds within the hour: hourly clear-sky indices become slots that keep each hour's mean light.

A cook that needs half an hour of strong sun does not get it from an hour that is sunny by half, so the hours must not
be laid out flat. Where a yard has logged enough hours of broken cloud, the slots follow its own hours; before that
they come from a generator: a smooth random path that is cut at the height which gives the hour its mean, more or less
softly, as the edges of the day's clouds are.
"""

from dataclasses import dataclass

import numpy as np

from yardplan.domain.tables import FloatArray
from yardplan.forecast.hours import Places
from yardplan.forecast.scenarios import INDEX_CAP
from yardplan.forecast.sky import Floats

CLOUD_MIN = 28.0
"""Minutes in which the path forgets to 1/e; fitted to a month of 1-minute readings at Payerne (June 2016, BSRN)."""

MIXED = (0.15, 0.85)
"""Mean clear-sky indices between which an hour counts as broken cloud."""

LEAST_DONORS = 200
"""Logged hours of broken cloud from which on they are used in place of the generator."""

_NEAREST = 8
_SOFT_MEDIAN, _SOFT_SPREAD = 0.5, 0.9  # of the cut, in standard deviations of the path; fitted to the same readings
_FULL_SUN = 1.0
_STEEP = 1.702  # makes a logistic step look like a normal one; source: Haley 1952 (from memory)
_HALVINGS = 20


@dataclass(frozen=True, eq=False)
class Donors:
    """Logged hours to copy the clouds of.

    Attributes
    ----------
    mean_index : ndarray (donor,)
        Rising.
    shape : ndarray float32 (donor, slot of the hour)
        Clear-sky index of each slot.
    """

    mean_index: Floats
    shape: FloatArray


def within_hours(
    hourly_index: Floats, clear_w_m2: FloatArray, slot_min: int, *, seed: int, donors: Donors | None = None
) -> FloatArray:
    """Return the clear-sky index of each slot; its mean over an hour, weighed by the clear sky, is the hour's.

    Parameters
    ----------
    hourly_index : ndarray (scenario, hour)
        From 0 to `INDEX_CAP`.
    clear_w_m2 : ndarray (hour, slot of the hour) [W/m2]
        Direct light of a cloudless sky.
    slot_min : int
        Length of a slot [min].

    Returns
    -------
    ndarray float32 (scenario, hour, slot of the hour)
        The hour's index throughout where the sun is down.
    """
    index = np.repeat(hourly_index.astype(np.float32)[:, :, None], clear_w_m2.shape[1], axis=2)
    total = clear_w_m2.sum(axis=1)
    lit = np.flatnonzero(total > 0)
    if len(lit) == 0 or clear_w_m2.shape[1] == 1:
        return index
    weight = (clear_w_m2[lit] / total[lit, None]).astype(np.float32)
    wanted = index[:, lit, 0]
    rng = np.random.default_rng((seed, 3))
    if donors is not None and len(donors.mean_index) >= LEAST_DONORS:
        shape = _copied(wanted, donors, rng)
    else:
        shape = _generated(wanted, weight, lit, slot_min, rng)
    index[:, lit] = _with_mean(shape, weight, wanted)
    return index


def donors_of(hour_slots: Floats, clear_w_m2: Floats) -> Donors:
    """Return the hours of broken cloud among logged ones, to copy from.

    Parameters
    ----------
    hour_slots : ndarray (hour, slot of the hour) [W/m2]
        Logged direct light, NaN where missing; hours with a gap are left out.
    clear_w_m2 : ndarray (hour, slot of the hour) [W/m2]
    """
    whole = np.flatnonzero(np.isfinite(hour_slots).all(axis=1) & (clear_w_m2.min(axis=1) > 0))
    slots, clear = hour_slots[whole], clear_w_m2[whole]
    mean = slots.sum(axis=1) / clear.sum(axis=1)
    mixed = np.flatnonzero((mean > MIXED[0]) & (mean < MIXED[1]))
    mixed = mixed[np.argsort(mean[mixed], kind="stable")]
    shape = np.clip(slots[mixed] / clear[mixed], 0, INDEX_CAP)
    return Donors(mean[mixed], shape.astype(np.float32))


def _copied(wanted: FloatArray, donors: Donors, rng: np.random.Generator) -> FloatArray:
    """Return for each hour the slots of one of the logged hours whose mean is nearest."""
    last = len(donors.mean_index) - _NEAREST
    first = np.clip(np.searchsorted(donors.mean_index, wanted) - _NEAREST // 2, 0, last)
    copied: FloatArray = donors.shape[first + rng.integers(_NEAREST, size=wanted.shape)]
    return copied


def _generated(
    wanted: FloatArray, weight: FloatArray, hours: Places, slot_min: int, rng: np.random.Generator
) -> FloatArray:
    """Return the smooth path of each scenario, cut softly at the height that gives each hour its mean."""
    n_scenarios, (n_hours, n_slots) = wanted.shape[0], weight.shape
    memory = np.exp(-slot_min / CLOUD_MIN)
    path = rng.standard_normal((n_hours * n_slots, n_scenarios), dtype=np.float32)
    fresh = np.float32(np.sqrt(1 - memory**2))
    for step in range(1, len(path)):
        path[step] = np.float32(memory) * path[step - 1] + fresh * path[step]
    height = path.T.reshape(n_scenarios, n_hours, n_slots)
    run = np.cumsum(np.diff(hours, prepend=hours[0]) > 1)  # hours in the sun without a night between them
    soft = np.exp(_SOFT_SPREAD * rng.standard_normal((n_scenarios, run[-1] + 1), dtype=np.float32))
    steep = np.float32(_STEEP / _SOFT_MEDIAN) / soft[:, run]
    return _cut(height, steep, wanted, weight)


def _cut(height: FloatArray, steep: FloatArray, wanted: FloatArray, weight: FloatArray) -> FloatArray:
    most = np.maximum(wanted, np.float32(_FULL_SUN))
    share = wanted / most
    reach = 6 + 10 / steep  # beyond all of the path, however soft the cut
    low, high = -reach, reach
    for _ in range(_HALVINGS):
        middle = ((low + high) / 2).astype(np.float32)
        sunny = _step(height, middle, steep)
        too_much = np.einsum("sht,ht->sh", sunny, weight) > share
        low, high = np.where(too_much, middle, low), np.where(too_much, high, middle)
    middle = ((low + high) / 2).astype(np.float32)
    return _step(height, middle, steep) * most[:, :, None]


def _step(height: FloatArray, at: FloatArray, steep: FloatArray) -> FloatArray:
    scaled: FloatArray = (height - at[:, :, None]) * steep[:, :, None]
    np.clip(scaled, -30, 30, out=scaled)
    np.negative(scaled, out=scaled)
    np.exp(scaled, out=scaled)
    scaled += 1
    np.reciprocal(scaled, out=scaled)
    return scaled


def _with_mean(shape: FloatArray, weight: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return the slots scaled down, or moved up toward the cap, so that each hour has its mean exactly."""
    cap = np.float32(INDEX_CAP)
    for _ in range(2):  # the second round takes what single precision left
        mean = np.einsum("sht,ht->sh", shape, weight)
        down = np.where(mean > wanted, wanted / np.maximum(mean, 1e-9), 1)[:, :, None]
        up = np.where(mean < wanted, (wanted - mean) / np.maximum(cap - mean, 1e-9), 0)[:, :, None]
        moved: FloatArray = (shape * down + (cap - shape) * up).astype(np.float32)
        shape = moved
    return shape
