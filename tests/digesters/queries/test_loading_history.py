"""Loading of the last days, from the ledger."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.queries.loading_history import loading_history
from apps.digesters.queries.records import read_records
from apps.ledger.models import Posting, PostingKind
from apps.ledger.operations.reverse_posting import reverse_posting
from tests.cast import Cast


def test_fourteen_days_in_windows_of_one_three_and_seven(cast: Cast) -> None:
    """By hand: the dome takes 4 kg of waste and 9.333 L of water a day into 4,000 L, so the
    slurry stays 4,000 / 13.333 = 300 days; OLR = VS [kg] / 4 m3."""
    history = loading_history(read_records(cast.group, cast.today), cast.today)["elsa-dome"]
    assert history[0].on == cast.today - timedelta(days=14)
    assert len(history) == 14
    last = history[-1]
    assert (last.fed.feed_g, last.fed.slurry_ml) == (4_000, 4_000 + 4_000 * 7 // 3)
    for loading, days in zip(last.loadings, (1, 3, 7), strict=True):
        assert loading.days == days
        assert loading.hrt_days == pytest.approx(300, rel=1e-3)
        assert loading.olr_kg_vs_per_m3_day == pytest.approx(last.fed.vs_g / 1000 / 4)


def test_a_feeding_that_was_taken_back_was_none(cast: Cast) -> None:
    yesterday = cast.today - timedelta(days=1)
    posting = Posting.objects.of(cast.group).get(
        kind=PostingKind.FEEDING, client_key=f"cast-elsa-dome-{yesterday}-feeding"
    )
    reverse_posting(cast.group, posting, reason="Wrong digester", now=cast.now, client_key="back")
    history = loading_history(read_records(cast.group, cast.today), cast.today)["elsa-dome"]
    assert history[-1].fed.feed_g == 0
    assert history[-1].loadings[0].hrt_days is None
    assert history[-2].fed.feed_g == 4_000


def test_the_paused_bag_was_not_fed(cast: Cast) -> None:
    history = loading_history(read_records(cast.group, cast.today), cast.today)["heitor-bag"]
    assert {day.fed.vs_g for day in history} == {0}
