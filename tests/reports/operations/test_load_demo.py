"""The demo ends yesterday, whatever day it is, and loading it twice harms nothing."""

from __future__ import annotations

import runpy
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from django.db.models import Max, Min

from apps.digesters.models import Digester, StageName
from apps.ledger.models import Movement, Posting
from apps.ledger.queries.invariants import check_ledger
from apps.people.models import Member, Role, User
from apps.places.core.streets.read_extract import read_extract
from apps.places.models import Absence, Place
from apps.places.queries.find_spots import find_spots
from apps.places.queries.places_off_streets import places_off_streets
from apps.places.queries.way_lengths import way_lengths_m
from apps.reports.operations.load_demo import DEMO, load_demo, shift_dates, shift_days
from apps.supply.models import Destination, Source, Stream

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("days", range(-400, 400, 13))
def test_the_shift_is_the_least_number_of_weeks(days: int) -> None:
    last_on, yesterday = date(2026, 3, 8), date(2026, 3, 8) + timedelta(days=days)
    shift = shift_days(last_on, yesterday)
    assert shift % 7 == 0
    assert 0 <= (last_on + timedelta(days=shift) - yesterday).days < 7


def test_rows_beyond_the_bounds_are_left_out() -> None:
    text = "on,note\n2026-01-01,a\n2026-01-02,b\n2026-01-03,c\n"
    shifted = shift_dates(text, 7, after=date(2026, 1, 8), before=date(2026, 1, 10))
    assert shifted.split() == ["on,note", "2026-01-09,b"]


def test_the_committed_files_are_what_the_seed_makes(tmp_path: Path) -> None:
    runpy.run_path(str(DEMO / "make.py"))["main"](tmp_path)
    made = sorted(path.name for path in tmp_path.iterdir())
    assert len(made) == 15
    for name in made:
        assert (tmp_path / name).read_bytes() == (DEMO / name).read_bytes(), name


def test_the_committed_streets_are_what_the_maker_writes(tmp_path: Path) -> None:
    made = tmp_path / "streets.osm.pbf"
    runpy.run_path(str(DEMO / "make_streets.py"))["main"](made)
    fresh, kept = (read_extract(p.read_bytes()) for p in (made, DEMO / "streets.osm.pbf"))
    assert fresh.names == kept.names
    for one in ("latitude", "longitude", "start", "end", "use", "width"):
        assert np.array_equal(getattr(fresh.network, one), getattr(kept.network, one)), one


def test_the_demo_is_whole_and_ends_yesterday(db: None) -> None:
    demo = load_demo(now=NOW)
    group = demo.group
    span = Posting.objects.of(group).aggregate(first=Min("on"), last=Max("on"))
    assert span["last"] == date(2026, 11, 24)
    assert (span["last"] - span["first"]).days >= 59
    stages = list(Digester.objects.of(group).values_list("stage", flat=True))
    assert len(stages) == 18
    assert {"running", "ramping", "recovering", "paused", "resting", "seeded", "dry"} == set(stages)
    assert Source.objects.of(group).count() == 45
    assert Destination.objects.of(group).count() == 2
    away = Absence.objects.of(group).get()
    assert date(2026, 11, 25) < away.first_on <= date(2026, 12, 3)
    # A glut: on a weekday the streams have several times what the running plates take.
    offered_g = sum(stream.typical_g(date(2026, 11, 25)) for stream in Stream.objects.of(group))
    plates_g = sum(
        digester.rated_feed_g
        for digester in Digester.objects.of(group).filter(stage=StageName.RUNNING)
    )
    assert offered_g > 3 * plates_g
    assert [str(promise) for promise in check_ledger() if not promise.is_kept] == []
    # Everything that was fed had been brought: nothing had to be explained away.
    assert not Movement.objects.of(group).filter(from_account__kind="variance").exists()
    # Its streets reach every place, and every home has sources in reach along them.
    assert places_off_streets(group) == []
    homes = [each.place for each in Digester.objects.of(group).select_related("place")]
    sources = [each.place for each in Source.objects.of(group).select_related("place")]
    ways = way_lengths_m(group, sources, homes, limit_m=group.reach_m)
    assert ways.along_streets.any()
    assert ((ways.metres <= group.reach_m).sum(axis=0) >= 5).all()
    # The addresses of its places are where its own streets have them, to half a block.
    for place in Place.objects.of(group).filter(is_public=True)[:10]:
        spot = find_spots(group, place.street)[0]
        assert abs(float(spot.latitude - place.latitude)) < 0.0015, place.street
        assert abs(float(spot.longitude - place.longitude)) < 0.0015, place.street
    assert demo.accounts.keys() == set(Role)
    for role, user in demo.accounts.items():
        member = Member.objects.of(group).get(user=user)
        assert role in member.member_roles.values_list("role", flat=True)

    counts = (Posting.unscoped.count(), User.objects.count(), Member.unscoped.count())
    again = load_demo(now=NOW)
    assert not again.is_new
    assert (Posting.unscoped.count(), User.objects.count(), Member.unscoped.count()) == counts

    load_demo(now=NOW + timedelta(days=3))
    assert Posting.objects.of(group).aggregate(last=Max("on"))["last"] == date(2026, 11, 27)
