"""What is to come every week is told to the other side, once at each turn."""

from __future__ import annotations

import pytest

from apps.groups.models import Work
from apps.notices.models import Notice
from apps.notices.operations.tell_standing import tell_standing
from apps.notices.wording import word_notice
from apps.planning.operations.agree_standing import agree_standing, ask_standing
from apps.planning.operations.end_standing import end_standing
from tests.cast import make_cast

pytestmark = pytest.mark.django_db


def told(cast) -> list[tuple[str, str, str]]:
    """(kind, person, text) of what is new."""
    before = set(Notice.objects.of(cast.group).values_list("pk", flat=True))
    for work in Work.objects.of(cast.group).filter(kind="tell_standing"):
        for _time in range(2):
            tell_standing(work)
    fresh = Notice.objects.of(cast.group).exclude(pk__in=before).select_related("group")
    return [(each.kind, each.member.code, word_notice(each, now=cast.now).text) for each in fresh]


def test_asked_agreed_ended():
    cast = make_cast(history_days=0)
    asked = ask_standing(
        cast.group, stream=cast.vegetables, digester=cast.drum, weekday=1, amount_g=2_500,
        now=cast.now, asked_by=cast.duarte,
    )  # fmt: skip
    [(kind, who, text)] = told(cast)
    assert (kind, who) == ("standing_asked", "filipe")
    assert "Each Tuesday" in text
    assert "2.5 kg" in text
    assert "Duarte asks" in text
    agree_standing(cast.group, asked.uuid, now=cast.now, agreed_by=cast.filipe)
    assert [each[:2] for each in told(cast)] == [("standing_agreed", "duarte")]
    end_standing(cast.group, asked.uuid, now=cast.now, ended_by=cast.bruno)
    ended = told(cast)
    assert {each[:2] for each in ended} == {
        ("standing_ended", "duarte"),
        ("standing_ended", "filipe"),
    }
    assert "Bruno has ended this" in ended[0][2]


def test_what_an_assigner_asks_for_both_is_agreed_at_once_and_told_to_both():
    cast = make_cast(history_days=0)
    ask_standing(
        cast.group, stream=cast.vegetables, digester=cast.drum, weekday=1, now=cast.now,
        asked_by=cast.bruno,
    )  # fmt: skip
    assert {each[:2] for each in told(cast)} == {
        ("standing_agreed", "duarte"),
        ("standing_agreed", "filipe"),
    }
