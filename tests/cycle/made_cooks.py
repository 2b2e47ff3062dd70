"""Cooks as a yard would have logged them, made by the model itself with factors that are known."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from yardplan.cycle.fit import LoggedCook
from yardplan.cycle.model import CycleModel, cycle_model
from yardplan.cycle.trace import trace

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK

FIRST_AT = datetime(2027, 5, 1, 18, tzinfo=UTC)
BIG = cycle_model(BIG_MOLD, BIG_TANK, ALTITUDE_M)


def made_cook(
    rng: np.random.Generator, model: CycleModel = BIG, heat: float = 1.0, loss: float = 1.0, *, peak_kw: float = 85.0,
    unit_id: str = "U1", mold_id: str = "M35", chamber_id: str = "1A", mold_copy: str = "M35#1",
    at: datetime = FIRST_AT, noise: float = 0.01, above_k: float = 0.0,
) -> LoggedCook:  # fmt: skip
    """A cook that came to its PIAT, at some hour under some sky; `above_k` is what the thermocouple reads too little.

    The sun is known to `noise`, the clock was read to the minute and half a minute off, the thermocouple to 0.7 K.
    """
    while True:
        hours = rng.uniform(8.3, 15.0) + np.arange(40) / 12
        sun_kw = np.clip(np.sin(np.pi * (hours - 6.5) / 12), 0, None) ** 0.7 * peak_kw * rng.choice([1.0, 0.93, 0.85])
        if rng.random() < 0.3:  # clouds of a quarter of an hour
            clouds = np.repeat(rng.normal(size=14), 3)[:40]
            sun_kw = sun_kw * np.clip(rng.uniform(0.6, 1.0) + 0.25 * clouds, 0.05, 1.0)
        temp_c, wind_m_s = np.full(40, rng.uniform(8, 32)), np.full(40, rng.uniform(1, 7))
        ended_c = model.piat_c + rng.uniform(0, 3)
        true = replace(model, loss_factor=loss, piat_c=ended_c + above_k)
        course = trace(true, sun_kw * heat * np.exp(rng.normal(0, noise)), temp_c, wind_m_s)
        if course.piat_min < 180:
            break
    minutes = max(round(course.piat_min + rng.normal(0, 0.5)), 1)
    return LoggedCook(
        f"{unit_id}-{at:%d%H%M}", unit_id, mold_id, chamber_id, mold_copy, model, at, float(minutes),
        ended_c + rng.normal(0, 0.7), sun_kw, temp_c, wind_m_s, 250.0, float(temp_c[0]),
    )  # fmt: skip


def made_cooks(rng: np.random.Generator, n_cooks: int, heat: float, loss: float, **options: object) -> list[LoggedCook]:
    """So many, one a day."""
    return [
        made_cook(rng, heat=heat, loss=loss, at=FIRST_AT + timedelta(days=day), **options) for day in range(n_cooks)
    ]


def spoiled(rng: np.random.Generator, cooks: list[LoggedCook], share: float) -> list[LoggedCook]:
    """The same with some times noted wrongly, by a third at least."""
    cooks = list(cooks)
    for ix in rng.choice(len(cooks), round(share * len(cooks)), replace=False):
        cooks[ix] = replace(cooks[ix], minutes=max(round(cooks[ix].minutes * rng.choice([0.5, 0.65, 1.5, 2.0])), 1.0))
    return cooks
