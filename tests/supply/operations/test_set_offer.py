"""A source says what it has."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Fact
from apps.supply.models import Offer
from apps.supply.operations.set_offer import UnusableOffer, UnusualOffer, set_offer
from tests.cast import Cast


def test_saying_the_same_twice_is_saying_it_once(cast: Cast) -> None:
    for _tap in range(2):
        set_offer(cast.vegetables, on=cast.today, amount_g=7_000, now=cast.now)
    assert Offer.objects.of(cast.group).get().amount_g == 7_000
    assert Fact.objects.of(cast.group).filter(kind="offer_set").count() == 1


def test_a_later_word_replaces_an_earlier_one(cast: Cast) -> None:
    set_offer(cast.vegetables, on=cast.today, amount_g=7_000, now=cast.now)
    set_offer(cast.vegetables, on=cast.today, amount_g=0, now=cast.now, said_by=cast.filipe)
    offer = Offer.objects.of(cast.group).get()
    assert (offer.amount_g, offer.said_by) == (0, cast.filipe)


@pytest.mark.parametrize("amount_g", [-1, 2_000_001, True])
def test_impossible_amounts_are_refused(cast: Cast, amount_g: int) -> None:
    with pytest.raises(UnusableOffer) as refused:
        set_offer(cast.vegetables, on=cast.today, amount_g=amount_g, now=cast.now)
    assert refused.value.field == "amount_g"


@pytest.mark.parametrize("ahead", [-1, 61])
def test_days_that_are_over_or_far_away_are_refused(cast: Cast, ahead: int) -> None:
    on = cast.today + timedelta(days=ahead)
    with pytest.raises(UnusableOffer) as refused:
        set_offer(cast.vegetables, on=on, amount_g=1_000, now=cast.now)
    assert refused.value.field == "on"


def test_three_times_the_usual_is_asked_again(cast: Cast) -> None:
    """The stall usually has 9 kg; 27 kg passes, 27.001 kg is asked for again."""
    set_offer(cast.vegetables, on=cast.today, amount_g=27_000, now=cast.now)
    with pytest.raises(UnusualOffer, match=r"27\.001 kg.*9 kg"):
        set_offer(cast.vegetables, on=cast.today, amount_g=27_001, now=cast.now)
    set_offer(cast.vegetables, on=cast.today, amount_g=27_001, now=cast.now, is_confirmed=True)
    assert Offer.objects.of(cast.group).get().amount_g == 27_001
