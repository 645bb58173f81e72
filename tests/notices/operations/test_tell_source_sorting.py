"""What was found among a source's waste reaches its contact: a warning, a pause, the way back."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import translation

from apps.groups.models import Work
from apps.groups.operations.do_work import do_work
from apps.notices.models import Notice
from apps.notices.wording import word_notice
from apps.pickups.models import ForeignKind
from apps.pickups.operations.note_foreign_matter import (
    note_foreign_matter,
    pause_stream,
    record_trial,
)
from tests.cast import Cast, make_cast

pytestmark = pytest.mark.django_db


def told(cast: Cast) -> list[str]:
    """The subjects of what Filipe was told, oldest first."""
    for work in (
        Work.objects.of(cast.group).filter(kind="tell_source_sorting", done_at=None).order_by("id")
    ):
        assert do_work(work.pk)
    notices = Notice.objects.of(cast.group).filter(kind="source_sorting")
    assert all(notice.member == cast.filipe for notice in notices)
    with translation.override("en"):
        return [word_notice(each, now=cast.now).subject for each in notices.order_by("id")]


def test_the_second_find_warns_a_pause_says_why_and_a_clean_trial_ends_it() -> None:
    cast = make_cast(history_days=0)
    stream, name = cast.vegetables, cast.vegetables.material.name
    for days in (2, 0, 0):
        note_foreign_matter(
            stream,
            ForeignKind.PLASTIC,
            now=cast.now,
            client_key=f"{days}-{Work.unscoped.count()}",
            noted_by=cast.duarte,
            on=cast.today - timedelta(days=days),
        )
    warned = f"Stall 4 on the quay: please sort {name}"
    assert told(cast) == [warned]
    [notice] = Notice.objects.of(cast.group).filter(kind="source_sorting")
    with translation.override("en"):
        text = word_notice(notice, now=cast.now).text
    assert "Found in the last two weeks: plastic." in text
    assert "Please keep apart" in text
    pause_stream(stream, reason="Bags every day", now=cast.now, paused_by=cast.carla)
    record_trial(stream, is_clean=False, now=cast.now, tried_by=cast.carla)
    record_trial(stream, is_clean=True, now=cast.now, tried_by=cast.carla)
    assert told(cast) == [
        warned,
        f"Stall 4 on the quay: {name} is not collected for now",
        f"Stall 4 on the quay: {name} is not clean yet",
        f"Stall 4 on the quay: {name} is collected again",
    ]
    paused = Notice.objects.of(cast.group).filter(kind="source_sorting").order_by("id")[1]
    with translation.override("en"):
        assert "Bags every day" in word_notice(paused, now=cast.now).text
