"""A second home: noted where visits came to nothing, told as perhaps, asked first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.template.loader import render_to_string
from django.test import Client

from apps.notices.queries.day_ahead import digester_day
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.operations.make_day_link import make_day_link
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.queries.missed_visits import missed_visits
from apps.pickups.queries.next_homes import propose_next_homes
from apps.pickups.queries.stands_by import stands_by
from apps.places.models import Place
from apps.planning.models import Plan, SecondHome
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from tests.cast import Cast
from tests.digesters.queries.test_day_limits import add_digesters
from tests.pickups.plans import write_plan
from tests.web.day.conftest import Today, today

__all__ = ["today"]


def some_weeks_ago(cast: Cast, states: list[State]) -> None:
    """The drum's visits to the quay, one a day until yesterday, as they ended."""
    first_on = cast.today - timedelta(days=len(states))
    rows = [(cast.vegetables, cast.drum, day, 2_000) for day in range(len(states))]
    plan = write_plan(cast, rows, first_on=first_on, now=cast.now - timedelta(days=20))
    sync_pickups(plan, now=cast.now - timedelta(days=20))
    for pickup, state in zip(Pickup.objects.of(cast.group).order_by("on"), states, strict=True):
        Pickup.objects.of(cast.group).filter(pk=pickup.pk).update(state=state)


def more_homes(cast: Cast) -> None:
    """Three beside the dome."""
    add_digesters(cast, 3, "more")
    at = cast.dome.place
    Place.objects.of(cast.group).filter(code__startswith="more-").update(
        latitude=at.latitude, longitude=at.longitude
    )


def second(plan: Plan, cast: Cast, on: object) -> SecondHome:
    row: SecondHome = SecondHome.unscoped.create(
        group=cast.group,
        plan=plan,
        source=cast.quay_stall,
        instead_of=cast.drum,
        digester=cast.dome,
        on=on,
        amount_g=3_400,
        distance_m=325,
    )
    return row


@pytest.mark.django_db
def test_visits_that_came_to_nothing_are_counted_whoever_was_the_cause(cast: Cast) -> None:
    done, not_done = State.DELIVERED, [State.DECLINED, State.FAILED, State.ANNOUNCED]
    some_weeks_ago(cast, [done, *not_done, State.WITHDRAWN, done, done])
    assert missed_visits(cast.group, cast.today) == {"quay-stall": (6, 3)}
    assert missed_visits(cast.group, cast.today + timedelta(weeks=9)) == {}
    assert missed_visits(cast.other_group, cast.today) == {}


@pytest.mark.django_db
def test_a_plan_notes_second_homes_only_where_a_source_is_unsure(cast: Cast) -> None:
    make_plan(cast.group, now=cast.now)
    assert not SecondHome.objects.of(cast.group).exists()
    some_weeks_ago(cast, [State.DELIVERED] * 3 + [State.FAILED] * 3)
    more_homes(cast)
    plan = make_plan(cast.group, now=cast.now)
    visits = set(plan.assignments.values_list("source", "digester", "on"))
    noted = list(SecondHome.objects.of(cast.group).filter(plan=plan))
    assert noted
    for row in noted:
        assert row.source == cast.quay_stall
        assert (row.source_id, row.instead_of_id, row.on) in visits
        assert (row.source_id, row.digester_id, row.on) not in visits
        assert row.on < plan.starts_on + timedelta(days=3)


def test_the_second_home_reads_perhaps_until_the_first_has_been(
    client: Client, today: Today
) -> None:
    cast = today.cast
    second(today.pickup.plan, cast, today.on)
    page = f"/day/{make_day_link(cast.elsa, today.on, now=datetime.now(UTC), digester=cast.dome)}/"
    assert "you are asked first" in client.get(page).content.decode()
    assert "you are asked first" not in client.get(today.home).content.decode()
    evening = render_to_string(
        "notices/digester_day.txt", {"on": today.on, "day": digester_day(cast.dome, today.on)}
    )
    assert "Perhaps: if Duarte's digester cannot go, you are asked first to fetch 3.4 kg" in evening
    Pickup.objects.of(cast.group).filter(pk=today.pickup.pk).update(state=State.DELIVERED)
    assert stands_by(cast.dome, today.on) == []
    assert "you are asked first" not in client.get(page).content.decode()


@pytest.mark.django_db
def test_who_stands_by_is_proposed_first(cast: Cast) -> None:
    more_homes(cast)
    plan = announce_plan(make_plan(cast.group, now=cast.now), now=cast.now)
    pickup = Pickup.objects.of(cast.group).filter(plan=plan).first()
    assert pickup is not None
    proposed = [each.digester for each in propose_next_homes(pickup, now=cast.now)]
    assert len(proposed) > 1
    SecondHome.unscoped.create(
        group=cast.group, plan=plan, source=pickup.source, instead_of=pickup.digester,
        digester=proposed[-1], on=pickup.on, amount_g=1, distance_m=1,
    )  # fmt: skip
    assert propose_next_homes(pickup, now=cast.now)[0].digester == proposed[-1]
