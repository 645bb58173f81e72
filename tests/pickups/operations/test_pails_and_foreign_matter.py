"""Numbered pails, and what does not belong into a digester."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.operations.save_row import UnfitRow
from apps.pickups.core.foreign import Advice
from apps.pickups.models import ForeignKind, PailStep
from apps.pickups.operations.note_foreign_matter import (
    NotPaused,
    note_foreign_matter,
    pause_stream,
    record_trial,
)
from apps.pickups.operations.note_pail import PailRefused, note_pail, save_pail, weigh_pail
from apps.pickups.queries.pails import missing_pails
from apps.supply.queries.expected_supply import expected_supply
from tests.cast import make_cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """Without history."""
    return make_cast(history_days=0)


def test_gross_weight_books_net(cast):
    pail = save_pail(cast.group, code="7", tare_g=900, owner=cast.duarte)
    # The customer's example: 12.4 kg gross, tare 0.9, 1.5 kg of foreign matter.
    net = weigh_pail(pail, 12_400, 1_500)
    assert (net.collected_g, net.delivered_g, net.set_aside_g) == (11_500, 10_000, 1_500)
    with pytest.raises(PailRefused, match="Weigh again"):
        weigh_pail(pail, 800)


def test_a_pail_too_large_to_lift_is_refused(cast):
    with pytest.raises(UnfitRow, match="16000"):
        save_pail(cast.group, code="9", tare_g=900, volume_ml=20_000)


def test_pails_are_brought_exchanged_missed_and_found(cast):
    full = save_pail(cast.group, code="1", tare_g=900)
    clean = save_pail(cast.group, code="2", tare_g=850)
    note_pail(full, PailStep.BROUGHT, now=cast.now, source=cast.quay_stall)
    note_pail(clean, PailStep.BROUGHT, now=cast.now, digester=cast.drum)
    note_pail(clean, PailStep.WASHED, now=cast.now)
    full = note_pail(full, PailStep.EXCHANGED, now=cast.now, exchanged_for=clean)
    clean.refresh_from_db()
    assert (full.at_digester, full.at_source) == (cast.drum, None)
    assert (clean.at_source, clean.washed_on) == (cast.quay_stall, cast.today)
    assert missing_pails(cast.group, cast.today) == []
    assert len(missing_pails(cast.group, cast.today + timedelta(days=15))) == 2
    note_pail(full, PailStep.MISSING, now=cast.now)
    assert [pail.code for pail in missing_pails(cast.group, cast.today)] == ["1"]
    note_pail(full, PailStep.FOUND, now=cast.now, source=cast.quay_stall)
    assert missing_pails(cast.group, cast.today) == []
    with pytest.raises(PailRefused, match="has not come yet"):
        note_pail(full, PailStep.WASHED, now=cast.now, on=cast.today + timedelta(days=1))


def expected_g(cast) -> int:
    rows = expected_supply(cast.group, cast.today + timedelta(days=1), 1)
    return sum(each.forecast.p50_g for each in rows if each.stream == cast.vegetables)


def test_two_finds_in_a_fortnight_warn_and_a_pause_lasts_until_a_clean_trial(cast):
    def find(key, days, **changes):
        return note_foreign_matter(
            cast.vegetables,
            ForeignKind.PLASTIC,
            now=cast.now,
            client_key=key,
            noted_by=cast.duarte,
            on=cast.today - timedelta(days=days),
            **changes,
        ).advice

    assert find("a", 20) is Advice.NOTHING
    assert find("b", 5, amount_g=1_500) is Advice.NOTHING
    assert find("c", 0, is_refused=True) is Advice.WARN
    assert find("c", 0, is_refused=True) is Advice.WARN
    assert find("d", 1) is Advice.WARN
    assert find("e", 2) is Advice.WARN
    assert expected_g(cast) > 0
    pause_stream(cast.vegetables, reason="plastic", now=cast.now, paused_by=cast.carla)
    assert expected_g(cast) == 0
    with pytest.raises(NotPaused):
        pause_stream(cast.vegetables, reason="plastic", now=cast.now, paused_by=cast.carla)
    assert not record_trial(cast.vegetables, is_clean=False, now=cast.now, tried_by=cast.duarte)
    assert expected_g(cast) == 0
    assert record_trial(cast.vegetables, is_clean=True, now=cast.now, tried_by=cast.duarte)
    assert expected_g(cast) > 0
