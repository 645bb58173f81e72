"""A rehearsed working week of three homes: honest arithmetic, repeatable, below its bound."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pytest

from apps.feedstock.core.published import read_published
from apps.rehearsal.core.bound import bound_year, judge_world
from apps.rehearsal.core.figures import Figures, sum_year
from apps.rehearsal.core.neighbourhood import Away, Change, GivenHome, invent_neighbourhood
from apps.rehearsal.core.ours import Effort
from apps.rehearsal.core.run import Journey, PolicyName, go_on, set_out
from apps.rehearsal.core.supply import draw_supply
from apps.rehearsal.core.world import World, draw_world

FIRST = date(2029, 5, 7)
DAYS = 5
LIGHT = Effort(horizon=2, work=50)


@cache
def small_world() -> World:
    hood = invent_neighbourhood(3, 6, seed=3, first_on=date(2029, 1, 1))
    return draw_world(hood, read_published(), first_on=FIRST, days=DAYS, seed=3)


@cache
def lived(name: PolicyName) -> tuple[Journey, Figures]:
    world = small_world()
    journey = set_out(world, name, LIGHT)
    for _ in go_on(journey, DAYS):
        pass
    return journey, sum_year(world, judge_world(world), journey.year.rows, journey.above_stored)


@pytest.mark.parametrize("name", list(PolicyName))
def test_no_gram_is_made_and_the_bound_holds(name: PolicyName) -> None:
    journey, figures = lived(name)
    world, bound = small_world(), bound_year(small_world(), judge_world(small_world()))
    fetched = sum(row.fetched_g for row in journey.year.rows)
    in_bins = sum(lot.amount_g for lots in journey.year.bins for lot in lots)
    assert fetched <= int(world.supply.amounts_g.sum())
    # What spoils on the last night is counted the next morning, so it is still in the bin.
    assert fetched == figures.placed_g + in_bins + figures.spoiled_g
    assert figures.above_stored == 0
    assert figures.days_inside + figures.days_above + figures.days_below == figures.days
    assert figures.days_inside <= bound.days_inside
    if name is PolicyName.OURS:
        mistaken = any(any(row.mistaken) for row in journey.year.rows)
        assert mistaken or figures.placed_g <= bound.placed_g


def test_a_year_that_is_put_away_goes_on_as_if_it_had_not_been() -> None:
    world = small_world()
    whole, _ = lived(PolicyName.OURS)
    parted = set_out(world, PolicyName.OURS, LIGHT)
    for _ in go_on(parted, 2):
        pass
    parted = Journey.unpack(parted.pack(), world)
    for _ in go_on(parted, DAYS):
        pass
    assert parted.year.rows == whole.year.rows


def test_by_hand_never_orders_more_than_the_plate() -> None:
    world = small_world()
    journey = set_out(world, PolicyName.BY_HAND)
    for day in range(3):
        _, orders = journey.policy.plan(day)
        for order, home in zip(orders, world.hood.homes, strict=True):
            assert order.feed_g <= home.plate_feed_g
        for _ in go_on(journey, day + 1):
            pass


def test_a_change_leaves_the_others_their_year() -> None:
    hood = small_world().hood
    joining = GivenHome("corner", 0.0, 0.0, 2_000_000, 5_000, 16_600, 500, 15_000)
    away = Away("home-00", FIRST, FIRST)
    changed = Change(joining=(joining,), away=(away,)).apply(hood)
    world = draw_world(changed, read_published(), first_on=FIRST, days=DAYS, seed=3)
    assert np.array_equal(world.supply.amounts_g, small_world().supply.amounts_g)
    assert np.array_equal(world.own_g[:, 1:3], small_world().own_g[:, 1:3])
    assert world.away[0, 0]
    gone = Change(leaving=frozenset({"source-00"})).apply(hood)
    assert all(stream.source != "source-00" for stream in gone.streams)


def test_strikes_and_shut_days_bring_nothing() -> None:
    hood = small_world().hood
    year = draw_supply(hood.streams, date(2029, 1, 1), 2, hood.effects, seed=3)
    assert year.amounts_g[0].sum() == 0
