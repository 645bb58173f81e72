"""States follow what is written down, and only that."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.core.management import call_command

from apps.digesters.core.process.forecast import summary
from apps.digesters.models import ModelState, RaisedWarning, ReadingKind, StageName
from apps.digesters.operations import update_model
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.update_model import (
    update_every_model,
    update_models,
    update_one_model,
    update_some_models,
)
from apps.digesters.operations.withdraw_reading import withdraw_reading
from apps.groups.models import Fact, Work
from tests.cast import Cast, make_cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    """A short history, so that little is run; only Duarte's drum and the others' stages."""
    return make_cast(history_days=10)


def read(cast: Cast, kind: ReadingKind, value: int, days_ago: int = 0, at: datetime | None = None):
    taken_at = (at or cast.now) - timedelta(days=days_ago)
    return record_reading(
        cast.drum,
        kind=kind,
        value=value,
        taken_at=taken_at,
        now=at or cast.now,
        client_key=f"{kind}-{days_ago}-{value}",
    ).reading


def hashes(cast: Cast) -> dict:
    rows = ModelState.objects.of(cast.group).filter(digester=cast.drum)
    return dict(rows.values_list("on", "inputs_hash"))


def run(cast: Cast, days_later: int = 0) -> int:
    """Days run anew for the drum."""
    caught = update_models(
        cast.group, now=cast.now + timedelta(days=days_later), digesters=[cast.drum]
    )
    return caught.days_run[cast.drum.pk]


def test_a_second_run_runs_nothing_and_a_missed_week_is_made_up(cast: Cast) -> None:
    # The day before the first feeding is where it was adopted; ten fed days and today follow.
    assert run(cast) == 11
    assert len(hashes(cast)) == 12
    assert run(cast) == 0
    assert run(cast, days_later=7) == 7
    assert max(hashes(cast)) == cast.today + timedelta(days=7)


def test_a_late_reading_reruns_from_its_day_and_withdrawn_leaves_no_trace(cast: Cast) -> None:
    run(cast)
    before = hashes(cast)
    wrong = read(cast, ReadingKind.PH, 300, days_ago=4)
    assert run(cast) == 5
    wild = hashes(cast)
    changed = {on for on, each in wild.items() if each != before[on]}
    assert changed == {cast.today - timedelta(days=back) for back in range(5)}
    state = ModelState.objects.of(cast.group).get(digester=cast.drum, on=cast.today)
    assert state.figures.get("ph") is None
    withdraw_reading(wrong, now=cast.now)
    assert run(cast) == 5
    assert hashes(cast) == before


def test_a_wild_reading_does_not_wreck_it(cast: Cast) -> None:
    run(cast)
    read(cast, ReadingKind.DRUM_HEIGHT, 10, days_ago=3)
    for back in (3, 2, 1):
        read(cast, ReadingKind.BURNER, 1440, days_ago=back)
    read(cast, ReadingKind.DRUM_HEIGHT, 900)
    caught = update_models(cast.group, now=cast.now, digesters=[cast.drum])
    inside = summary(caught.states[cast.drum.pk].ensemble)
    # A drum that gave 12 hours of flame a day: 3.6 m3 from 1.2 m3 fed a tenth of that.
    assert 6.0 < inside.ph.low <= inside.ph.high < 8.5
    assert inside.feed_strength.high < 2.5  # its bound, exp(ln 2) widened


def test_work_follows_a_reading_and_the_evening_comes_in_pieces(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    read(cast, ReadingKind.PH, 700)
    work = Work.objects.of(cast.group).get(kind="update_one_model")
    update_one_model(work, now=cast.now)
    assert hashes(cast)
    assert not ModelState.objects.of(cast.group).exclude(digester=cast.drum).exists()
    monkeypatch.setattr(update_model, "AT_A_TIME", 2)
    update_every_model(work, now=cast.now)
    update_every_model(work, now=cast.now)
    pieces = Work.objects.of(cast.group).filter(kind="update_some_models").order_by("key")
    assert [len(each.payload["digesters"]) for each in pieces] == [2, 1]
    for each in pieces:
        update_some_models(each, now=cast.now)
    followed = ModelState.objects.of(cast.group).filter(on=cast.today)
    assert {row.digester_id for row in followed} == {cast.drum.pk, cast.dome.pk, cast.bag.pk}


def test_a_rebuild_gives_the_same_states(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    real_now = datetime.now(cast.now.tzinfo)
    update_models(cast.group, now=real_now, digesters=[cast.drum])
    stored = {
        row.on: bytes(row.blob)
        for row in ModelState.objects.of(cast.group).filter(digester=cast.drum)
    }
    since = min(stored) + timedelta(days=1)
    call_command(
        "rebuild_model_states", group=cast.group.code, digester=cast.drum.code, since=since
    )
    assert f"{len(stored) - 1} days as stored, 0 changed, 0 new" in capsys.readouterr().out
    for row in ModelState.objects.of(cast.group).filter(digester=cast.drum):
        assert bytes(row.blob) == stored[row.on]


def test_a_seeded_digester_starts_anew(cast: Cast) -> None:
    cast.drum.stage = StageName.SEEDED
    cast.drum.stage_since_on = cast.today - timedelta(days=3)
    cast.drum.save()
    assert run(cast) == 3
    assert min(hashes(cast)) == cast.today - timedelta(days=3)
    cast.drum.stage = StageName.DRY
    cast.drum.save()
    assert cast.drum.pk not in update_models(cast.group, now=cast.now, digesters=[cast.drum]).states


def test_a_full_holder_is_warned_of_once_and_cleared_by_a_look(cast: Cast) -> None:
    stop_mm = cast.drum.drum_stop_mm
    read(cast, ReadingKind.DRUM_HEIGHT, stop_mm)
    run(cast)
    run(cast)
    warning = RaisedWarning.objects.of(cast.group).get(kind="full_holder")
    assert (warning.within_days, warning.cleared_on) == (0, None)
    assert "gas_fire" in warning.cautions
    assert Fact.objects.of(cast.group).filter(kind="warning_raised").count() >= 1
    later = cast.now + timedelta(days=1)
    read(cast, ReadingKind.DRUM_HEIGHT, 50, at=later)
    read(cast, ReadingKind.BURNER, 300, at=later)
    run(cast, days_later=1)
    warning.refresh_from_db()
    assert warning.cleared_on == cast.today + timedelta(days=1)
    raised = Fact.objects.of(cast.group).filter(kind="warning_raised")
    assert sum(fact.payload["warning"] == "full_holder" for fact in raised) == 1
