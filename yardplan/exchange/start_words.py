"""What becomes of a start, in one sentence with figures."""

from datetime import timedelta

from yardplan.domain.slots import SlotGrid
from yardplan.domain.starts import StartOutcome, StartVerdict


def start_words(verdict: StartVerdict, grid: SlotGrid) -> str:
    """Return a verdict in words, by the yard's clock."""

    def clock(slot: float) -> str:
        at = grid.at(0) + timedelta(minutes=grid.slot_min * slot)
        return f"{at.astimezone(grid.zone):%H:%M}"

    begun = f"{verdict.unit_id}: {verdict.product_id} in {verdict.mold_id} started at {clock(verdict.start_slot)}"
    end, peak = verdict.end_slot, verdict.peak_c
    match verdict.outcome:
        case StartOutcome.NO_FIT:
            return f"{verdict.unit_id}: {verdict.mold_id} with a charge of {verdict.product_id} fits no chamber"
        case StartOutcome.NO_SUN:
            told = f"{begun} has no sun on the mirrors yet or any more"
        case StartOutcome.REACHES if end is not None:
            told = f"{begun} comes to {verdict.piat_c:.0f} C by {clock(end)}"
        case StartOutcome.TOO_LONG if end is not None:
            took_min = (end - verdict.start_slot) * grid.slot_min
            told = f"{begun} would come to {verdict.piat_c:.0f} C at {clock(end)}, after {took_min:.0f} min: too long"
        case StartOutcome.NO_COOLING:
            told = f"{begun} would not cool down to its demold temperature in the air of that day"
        case _:
            if end is None or peak is None:
                raise ValueError(f"a verdict without its figures: {verdict}")
            told = (
                f"{begun} would stall at {peak:.0f} C at {clock(end)}, short of {verdict.piat_c:.0f} C: the field "
                f"brings {verdict.heat_kw:.0f} kW, losses are {verdict.loss_kw:.0f} kW"
            )
    if verdict.latest_slot is None:
        return f"{told}; no start of that day is safe"
    if verdict.first_slot is not None and verdict.start_slot < verdict.first_slot:
        return f"{told}; the first safe start is {clock(verdict.first_slot)}"
    return f"{told}; the latest safe start is {clock(verdict.latest_slot)}"
