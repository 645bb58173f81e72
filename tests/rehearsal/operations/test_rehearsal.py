"""A rehearsal from asking to figures: resumed, by two at once, on its page."""

from __future__ import annotations

import pytest
from django.test import Client

from apps.groups.models import Work
from apps.kernel.errors import Refused
from apps.rehearsal.models import Rehearsal, RehearsedStretch
from apps.rehearsal.models.packing import StrangeState, unpack
from apps.rehearsal.operations import live_stretch
from apps.rehearsal.operations.live_stretch import go_further
from apps.rehearsal.operations.start_rehearsal import NothingToRehearse, start_rehearsal
from apps.rehearsal.queries.rehearsal_changes import tried_change
from apps.rehearsal.queries.rehearsed_world import rehearsed_world
from tests.cast import Cast


@pytest.fixture
def rehearsal(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Rehearsal:
    monkeypatch.setattr(live_stretch, "HOME_DAYS", 2)
    return start_rehearsal(cast.group, name="As it is", first_on=cast.today, days=3, now=cast.now)


def finish(rehearsal: Rehearsal, cast: Cast) -> None:
    for policy in ("ours", "by_hand"):
        while go_further(rehearsal, policy, now=cast.now):
            pass


def test_it_goes_on_by_work_rows_and_ends_with_figures(rehearsal: Rehearsal, cast: Cast) -> None:
    work = Work.objects.of(cast.group).filter(kind="rehearse", payload__policy="by_hand")
    first = work.get()
    live_stretch.live_stretch(first, cast.now)
    live_stretch.live_stretch(first, cast.now)
    stretch = RehearsedStretch.objects.of(cast.group).get(policy="by_hand")
    assert stretch.until_day > 0
    assert work.count() >= 2
    finish(rehearsal, cast)
    rehearsal.refresh_from_db()
    assert rehearsal.state == "done"
    assert set(rehearsal.figures["policies"]) == {"ours", "by_hand"}
    assert rehearsal.figures["policies"]["ours"]["above_stored"] == 0
    page = signed_in(cast).get(f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/")
    assert page.status_code == 200
    assert b"<svg" in page.content
    file = signed_in(cast).get(f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/file/")
    assert file.content.startswith(b"figure,")


def signed_in(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.ana.user)
    return client


def test_progress_is_shown_and_a_form_starts_one(rehearsal: Rehearsal, cast: Cast) -> None:
    client = signed_in(cast)
    page = client.get(f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/")
    assert b"<progress" in page.content
    assert client.get(f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/file/").status_code == 404
    form = {"name": "A canteen joins", "days": "7", "canteen_place": cast.drum.place.code}
    address = f"/g/{cast.group.code}/rehearsals/"
    assert client.post(address, form).status_code == 422
    assert client.post(address, {**form, "canteen_g": "20"}).status_code == 302
    assert Rehearsal.objects.of(cast.group).count() == 2


def test_changes_reach_the_world(cast: Cast) -> None:
    change = tried_change(
        cast.group,
        canteen_place=cast.drum.place,
        canteen_g=20_000,
        digester_place=cast.drum.place,
        digester_ml=2_000_000,
        homes_away=1,
        away_first_on=cast.today,
        away_last_on=cast.today,
    )
    row = start_rehearsal(
        cast.group, name="All", first_on=cast.today, days=2, now=cast.now, change=change
    )
    world = rehearsed_world(row)
    assert {"new-digester"} <= {home.code for home in world.hood.homes}
    assert {"new-canteen"} <= {source.code for source in world.hood.sources}
    assert world.away[0].any()


def test_bad_asking_is_refused(cast: Cast, rehearsal: Rehearsal) -> None:
    with pytest.raises(NothingToRehearse):
        start_rehearsal(cast.other_group, name="x", first_on=cast.today, now=cast.now)
    with pytest.raises(Refused, match="400 days"):
        start_rehearsal(cast.group, name="x", first_on=cast.today, now=cast.now, days=400)
    with pytest.raises(StrangeState):
        unpack(b"0" * 40)
