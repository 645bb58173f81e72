"""A rehearsal from asking to figures: resumed, by two at once, on its page."""

from __future__ import annotations

import pytest
from django.test import Client

from apps.groups.models import Work
from apps.kernel.errors import Refused
from apps.rehearsal.models import Rehearsal, RehearsedStretch
from apps.rehearsal.models.packing import StrangeState, seal, unpack
from apps.rehearsal.operations import live_stretch
from apps.rehearsal.operations.begin_anew import begin_anew
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


def test_what_an_update_overtakes_begins_again_by_itself(
    rehearsal: Rehearsal, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    for policy in ("ours", "by_hand"):
        assert go_further(rehearsal, policy, now=cast.now)
    monkeypatch.setattr("apps.rehearsal.core.run.MODEL_VERSION", -1)
    page = f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/"
    assert b"began again" not in signed_in(cast).get(page).content
    again = Rehearsal.objects.of(cast.group).get(pk=rehearsal.pk)
    assert go_further(rehearsal, "ours", now=cast.now)
    # Another worker with the same old row before it changes nothing more.
    begin_anew(again, now=cast.now)
    stretches = RehearsedStretch.objects.of(cast.group).filter(rehearsal=rehearsal)
    assert set(stretches.values_list("until_day", flat=True)) == {0}
    rehearsal.refresh_from_db()
    assert rehearsal.times_begun == 2
    keys = Work.objects.of(cast.group).filter(kind="rehearse", key__endswith="-0-2")
    assert keys.count() == 2
    assert b"began again from the first day" in signed_in(cast).get(page).content
    finish(rehearsal, cast)
    rehearsal.refresh_from_db()
    assert rehearsal.state == "done"


def test_one_whose_beginning_cannot_be_read_is_stopped_and_says_so(
    rehearsal: Rehearsal, cast: Cast
) -> None:
    Rehearsal.objects.of(cast.group).update(start=seal(b"of another time"))
    rehearsal.refresh_from_db()
    assert not go_further(rehearsal, "ours", now=cast.now)
    page = signed_in(cast).get(f"/g/{cast.group.code}/rehearsals/{rehearsal.uuid}/")
    assert b"Start it anew" in page.content
    assert b"<progress" not in page.content
    start_rehearsal(cast.group, name="Anew", first_on=cast.today, days=3, now=cast.now)
