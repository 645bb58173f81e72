"""Shares of the last 28 days, from the ledger and the plans."""

from __future__ import annotations

from html import unescape

from django.test import Client

from apps.planning.queries.fair_shares import fair_shares
from tests.cast import Cast
from tests.ledger.operations.test_record_feeding import collect, feed


def test_what_was_fed_counts_against_wish_and_capacity(cast: Cast) -> None:
    collect(cast, "c", 1_500)
    feed(cast, "f", 900)
    tomorrow = cast.today.fromordinal(cast.today.toordinal() + 1)
    found = fair_shares(cast.group, tomorrow)
    home = next(each for each in found.homes if each.digester.code == cast.drum.code)
    assert home.minutes.got > 0
    assert home.minutes.wished == cast.drum.wanted_minutes_per_day * 28
    assert home.days[0].on == cast.today
    assert home.days[0].fed_vs_g > 0
    assert len(home.days) == 28
    assert sum(each.visits.got for each in found.sources) >= 1
    assert 0 < found.homes_index <= 1


def test_a_householder_sees_the_own_record_and_no_other(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.duarte.user)
    page = unescape(client.get(f"/g/{cast.group.code}/shares/").content.decode())
    assert cast.drum.name in page
    others = [each for each in fair_shares(cast.group, cast.today).homes
              if each.digester.household_id != cast.duarte.pk]  # fmt: skip
    assert others
    assert all(each.digester.name not in page for each in others)
