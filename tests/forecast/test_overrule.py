from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yardplan.domain.errors import InvalidField
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.overrule import WORDS, Overrule, overrule_of, overruled

TZ = "America/Denver"
NOW = datetime(2027, 5, 18, 12, 30, tzinfo=UTC)  # Tuesday, 6:30 on the yard's clock
GRID = SlotGrid.of_days(date(2027, 5, 17), 7, TZ)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 5, day, hour, minute, tzinfo=ZoneInfo(TZ))


@pytest.mark.parametrize(
    ("text", "start_at", "end_at", "word"),
    [
        ("fog until 10", at(18, 0), at(18, 10), "fog"),
        ("Fog  until 10:30", at(18, 0), at(18, 10, 30), "fog"),
        ("haze from 13 until 16:30", at(18, 13), at(18, 16, 30), "haze"),
        ("clear from 9", at(18, 9), at(19, 0), "clear"),
        ("dust tomorrow", at(19, 0), at(20, 0), "dust"),
        ("storm tuesday from 14", at(18, 14), at(19, 0), "storm"),
        ("overcast monday until 12", at(24, 0), at(24, 12), "overcast"),
        ("cloudy 2027-05-21 from 8 until 24", at(21, 8), at(22, 0), "cloudy"),
    ],
)
def test_sentences_are_understood(text, start_at, end_at, word):
    rule = overrule_of(text, NOW, TZ)
    assert (rule.start_at, rule.end_at) == (start_at, end_at)
    assert (rule.least_frac, rule.most_frac) == WORDS[word]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "fog",  # for a past day only below; alone it is today
        "mist until 10",
        "fog till 10",
        "fog until 25",
        "fog until 10:75",
        "fog until 6",
        "fog someday",
        "fog 2027-05-17",
        "fog from 12 until 9",
        "until 10",
    ],
)
def test_what_is_not_understood_or_over_is_refused(text):
    if text == "fog":
        assert overrule_of(text, NOW, TZ).end_at == at(19, 0)
        return
    with pytest.raises(InvalidField, match="overrule"):
        overrule_of(text, NOW, TZ)


def test_the_message_says_what_to_write():
    with pytest.raises(InvalidField, match='as in "fog until 10"'):
        overrule_of("murk until 10", NOW, TZ)


def test_local_days_of_clock_changes():
    # 14 March 2027: 23 hours
    rule = overrule_of("fog 2027-03-14", datetime(2027, 3, 10, tzinfo=UTC), TZ)
    assert rule.end_at - rule.start_at == timedelta(hours=23)


def test_it_is_shown_with_its_span_on_the_yards_clock():
    assert overrule_of("fog until 10", NOW, TZ).shown(TZ) == "fog until 10 (Tue 18 May 00:00 to 10:00, by hand)"


def test_only_the_span_is_overruled():
    index = np.full((3, GRID.n_slots), 0.7, np.float32)
    after = overruled(index, GRID, [overrule_of("fog until 10", NOW, TZ)])
    first, last = GRID.slot(at(18, 0)), GRID.slot(at(18, 10))
    assert not after[:, first:last].any()
    assert np.array_equal(after[:, :first], index[:, :first])
    assert np.array_equal(after[:, last:], index[:, last:])
    assert (index == np.float32(0.7)).all()


def test_a_later_word_goes_before_an_earlier_one():
    index = np.full((1, GRID.n_slots), 0.5, np.float32)
    fog, clear = overrule_of("fog until 10", NOW, TZ), overrule_of("clear from 8 until 12", NOW, TZ)
    after = overruled(index, GRID, [fog, clear])
    assert after[0, GRID.slot(at(18, 7))] == 0
    assert after[0, GRID.slot(at(18, 9))] == pytest.approx(0.9)


RULES = st.builds(
    lambda start, length, bounds: Overrule(GRID.at(start), GRID.at(start + length), min(bounds), max(bounds), "made"),
    st.integers(-100, GRID.n_slots + 100),
    st.integers(1, 500),
    st.tuples(st.floats(0, 1.2), st.floats(0, 1.2)),
)


@given(st.lists(RULES, max_size=5), st.integers(0, 99))
def test_the_last_word_holds_and_darkness_is_dark(rules, seed):
    index = np.random.default_rng(seed).uniform(0, 1.15, (2, GRID.n_slots)).astype(np.float32)
    dark = Overrule(GRID.at(300), GRID.at(400), 0.0, 0.0, "dark")
    after = overruled(index, GRID, [*rules, dark])
    assert not after[:, 300:400].any()
    for rule in rules[-1:]:
        within = overruled(index, GRID, rules)[:, max(GRID.slot(rule.start_at), 0) : max(GRID.slot(rule.end_at), 0)]
        assert (within >= rule.least_frac - 1e-6).all()
        assert (within <= rule.most_frac + 1e-6).all()


@given(st.lists(RULES, max_size=4), st.integers(0, 99))
def test_a_word_that_only_bounds_from_above_never_raises(rules, seed):
    index = np.random.default_rng(seed).uniform(0, 1.15, (2, GRID.n_slots)).astype(np.float32)
    only_above = [Overrule(rule.start_at, rule.end_at, 0.0, rule.most_frac, "") for rule in rules]
    assert (overruled(index, GRID, only_above) <= index).all()


@pytest.mark.parametrize(
    ("least", "most", "start", "end"),
    [(0.5, 0.4, 1, 2), (-0.1, 0.5, 1, 2), (0, 1.3, 1, 2), (0, 1, 2, 2), (0, 1, 3, 2)],
)
def test_bounds_that_make_no_sense_are_refused(least, most, start, end):
    with pytest.raises(InvalidField):
        Overrule(GRID.at(start), GRID.at(end), least, most, "made")


def test_instants_without_an_offset_are_refused():
    with pytest.raises(InvalidField, match="aware"):
        Overrule(datetime(2027, 5, 18), GRID.at(9), 0, 0, "made")  # noqa: DTZ001 - that is the fault
