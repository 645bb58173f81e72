"""A carrier is told of a round, once, with a link that opens it."""

from __future__ import annotations

import re

import pytest

from apps.groups.models import Work
from apps.notices.models import Notice
from apps.notices.operations.tell_day_ahead import tell_of_day
from apps.notices.operations.tell_round import tell_round
from apps.notices.wording import word_notice
from apps.rounds.operations.announce_round import drop_round
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.queries.open_round_link import open_round_link
from tests.rounds.harbour import QUICK, make_harbour

pytestmark = pytest.mark.django_db


def test_announced_changed_and_dropped():
    harbour = make_harbour()
    group, now = harbour.cast.group, harbour.then
    found = harbour.announced()
    for who in (harbour.cast.graca, harbour.cast.bruno):
        replan_round(group, found.uuid, now=harbour.cast.now, asked_by=who, effort=QUICK)
    drop_round(group, found.uuid, now=now, dropped_by=harbour.cast.bruno)
    for work in Work.objects.of(group).filter(kind="tell_round").order_by("id"):
        for _time in range(2):
            tell_round(work, now)
    notices = list(Notice.objects.of(group).filter(member=harbour.cast.graca))
    # The change that she made herself is no news.
    assert [(each.kind, each.payload["is_change"]) for each in notices] == [
        ("round", False),
        ("round", True),
        ("round_dropped", False),
    ]
    for each in notices:
        each.group = group
    assert "new order" in word_notice(notices[1], now=now).subject
    assert "you need not go" in word_notice(notices[2], now=now).text


def test_the_link_in_the_message_opens_the_round():
    harbour = make_harbour()
    found = harbour.announced()
    tell_round(Work.objects.of(harbour.cast.group).get(kind="tell_round"), harbour.then)
    notice = Notice.objects.of(harbour.cast.group).get(kind="round")
    words = word_notice(notice, now=harbour.then)
    assert "6 stops, setting out at 08:" in words.text
    token = re.search(r"/round/([\w-]{22})/", words.text)
    assert token is not None
    assert open_round_link(token.group(1), now=harbour.then).round_id == found.pk


def test_homes_are_told_that_somebody_brings_it():
    harbour = make_harbour()
    group = harbour.cast.group
    tell_of_day(group, harbour.on, harbour.cast.now)
    harbour.announced()
    tell_of_day(group, harbour.on, harbour.cast.now)
    tell_of_day(group, harbour.on, harbour.cast.now)
    notices = list(Notice.objects.of(group).filter(kind="digester_day", member=harbour.cast.duarte))
    assert [each.version for each in notices] == [1, 2]
    notices[1].group = group
    words = word_notice(notices[1], now=harbour.cast.now).text
    assert "Graca brings from Stall 4 on the quay with a cart" in words
    assert "Pick up at" not in words
