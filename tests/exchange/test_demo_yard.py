from collections import Counter
from datetime import UTC, date, datetime, timedelta
from math import ceil

import pytest

from yardplan.domain.equipment import MoldMetal
from yardplan.domain.people import HANDLING, LOADER, RIGGING
from yardplan.domain.products import ItemKind
from yardplan.domain.slots import SlotGrid
from yardplan.exchange.yard_files import read_yard_folder, write_yard_folder
from yardplan.paths import demo_folder

WEEK = SlotGrid.of_days(date(2027, 5, 17), 7, "America/Denver")


@pytest.fixture(scope="module")
def demo():
    return read_yard_folder(demo_folder())


def test_the_demo_yard_has_what_is_promised(demo):
    yard = demo.yard
    assert len(yard.units) == 6
    assert len({len(unit.field) for unit in yard.units}) >= 3
    assert all(len(unit.chambers) == 2 for unit in yard.units)
    assert (len(yard.molds), len(yard.products), len(demo.orders)) == (14, 10, 25)
    assert (len(yard.operators), len(yard.shifts)) == (12, 2)
    assert Counter(mold.copies for mold in yard.molds) == {1: 4, 2: 8, 3: 2}
    assert {mold.metal for mold in yard.molds} == set(MoldMetal)
    assert len(yard.colors) == 5
    assert {bench.kind for bench in yard.benches} == {"cut", "fit", "test"}
    assert {chamber.id for chamber in yard.chambers} == {hung.chamber_id for hung in yard.hung}
    assert demo.clock_at == datetime(2027, 5, 14, 20, 0, tzinfo=UTC)
    assert demo.weather_path.name == "typical_year.epw"
    assert demo.sun_path.name == "measured_sun.csv"


def test_every_file_of_the_demo_yard_says_that_it_is_invented(demo):
    assert demo.notice.startswith("INVENTED")
    for path in [demo_folder() / "site.toml", *demo_folder().glob("*.csv")]:
        assert path.read_text(encoding="utf-8").startswith(f"# {demo.notice}\n"), path.name


def test_the_demo_yard_survives_being_written(demo, tmp_path):
    write_yard_folder(tmp_path / "yard", demo.yard, demo.orders, demo.logged, notice=demo.notice)
    again = read_yard_folder(tmp_path / "yard")
    assert (again.yard, again.orders, again.logged) == (demo.yard, demo.orders, demo.logged)


def test_the_orders_make_a_week_of_about_three_hundred_cycles(demo):
    cycles = 0
    for order in demo.orders:
        molds = [demo.yard.mold(mold_id) for mold_id in demo.yard.product(order.product_id).mold_ids]
        cycles += ceil(order.quantity / max(mold.cavities for mold in molds))
    assert 280 <= cycles <= 330
    assert 10 <= sum(order.promise_at is not None for order in demo.orders) <= 15
    assert all(WEEK.at(0) < order.due_at for order in demo.orders)
    assert 4 <= sum(order.due_at > WEEK.end_at for order in demo.orders) <= 10


def test_stock_with_its_deliveries_covers_the_orders_and_one_resin_is_tight(demo):
    yard, need = demo.yard, Counter()
    for order in demo.orders:
        product = yard.product(order.product_id)
        need[yard.resin(product.resin_grade, order.color).id] += product.shot_kg * order.quantity
        for item_id, count in product.inserts:
            need[item_id] += count * order.quantity
    coming = Counter()
    for delivery in yard.deliveries:
        assert WEEK.at(0) < delivery.arrives_at < WEEK.end_at
        coming[delivery.item_id] += delivery.amount
    short = {item.id for item in yard.items if item.kind is ItemKind.RESIN and item.on_hand < 0.6 * need[item.id]}
    assert short == {"LLDPE-BLACK"}
    assert all(item.on_hand + coming[item.id] >= need[item.id] for item in yard.items)


def test_each_shift_of_each_day_can_handle_change_molds_and_finish(demo):
    skills = {HANDLING, "inspection", "finishing"}
    for on, _, _ in WEEK.days:
        for shift in demo.yard.shifts:
            there = [
                person
                for person in demo.yard.operators
                if on not in person.days_off
                and any(duty.shift_id == shift.id and duty.holds_on(on) for duty in person.duties)
            ]
            assert len(there) >= 3
            assert all(any(skill in person.skills for person in there) for skill in skills)
            riggers = [person for person in there if RIGGING in person.skills]
            assert any(LOADER in driver.skills and rigger is not driver for driver in there for rigger in riggers)


def test_the_log_is_about_a_month_of_cycles_that_could_have_been(demo):
    logged = demo.logged
    assert 150 <= len(logged) <= 250
    assert timedelta(days=25) < logged[-1].heat_at - logged[0].heat_at < timedelta(days=35)
    assert logged[-1].demolded_at < demo.clock_at
    assert 0 < sum(row.piat_at is None for row in logged) < 10
    free_at: dict[object, datetime] = {}
    for row in sorted(logged, key=lambda row: row.charged_at):
        product, mold = demo.yard.product(row.product_id), demo.yard.mold(row.mold.mold_id)
        chamber = next(chamber for chamber in demo.yard.chambers if chamber.id == row.chamber_id)
        assert mold.id in product.mold_ids
        assert demo.yard.fits(mold, chamber, product)
        assert demo.yard.resin(product.resin_grade, row.color)
        assert row.pieces_good + row.pieces_scrapped == mold.cavities
        for once in (row.chamber_id, row.mold):
            assert row.charged_at >= free_at.get(once, row.charged_at)
            free_at[once] = row.demolded_at
        heat_end_at = row.piat_at or row.heat_at + timedelta(hours=1)
        unit_id = demo.yard.unit_of(row.chamber_id).id
        assert row.heat_at >= free_at.get(unit_id, row.heat_at)  # one chamber of a unit heats at a time
        free_at[unit_id] = heat_end_at
        if row.piat_at:
            assert product.piat_c <= row.piat_c < product.piat_c + 10
