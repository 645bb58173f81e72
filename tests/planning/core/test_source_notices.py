"""Each source hears before closing who comes, and where what nobody takes will go."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.core.destinations import Destination, send_left_over
from apps.planning.core.notice_words import say_notice
from apps.planning.core.result import LeftOver
from apps.planning.core.source_notices import meeting, source_notices
from tests.planning.generator import make_problem
from tests.planning.greedy import greedy_result
from tests.planning.small_plan import SMALL_NAMES, SMALL_PROBLEM, SMALL_RESULT

COMPOST = Destination("HEAP", "Orchard heap", 450, {"MARKET": 900})
FAR = Destination("FAR", "Town compost", 10_000, {"MARKET": 4_000}, frozenset({"peelings"}))


def test_what_is_left_goes_whole_to_the_nearest_place_with_room() -> None:
    """By hand: M1 leaves 500 g on day 0, too much for the heap's 450 g; M2 100 g on day 1."""
    sendings = send_left_over(SMALL_PROBLEM, SMALL_RESULT.left_over, [FAR, COMPOST])
    assert [(each.batch, each.day, each.amount_g, each.destination) for each in sendings] == [
        ("M1", 0, 500, "FAR"),
        ("M2", 1, 100, "HEAP"),
    ]


def test_what_no_place_accepts_stays_with_the_source() -> None:
    sendings = send_left_over(SMALL_PROBLEM, SMALL_RESULT.left_over, [FAR])
    assert [each.destination for each in sendings] == ["FAR", None]


def test_what_may_still_be_collected_later_is_undecided() -> None:
    batches = tuple(
        replace(each, collect_by_day=4, feed_by_day=5) if each.code == "J2" else each
        for each in SMALL_PROBLEM.batches
    )
    problem = replace(SMALL_PROBLEM, batches=batches)
    (sending,) = send_left_over(problem, [LeftOver("J2", 10)], [COMPOST])
    assert (sending.destination, sending.undecided, sending.day) == (None, True, 2)


def test_the_market_hears_who_comes_and_where_the_rest_goes() -> None:
    sendings = send_left_over(SMALL_PROBLEM, SMALL_RESULT.left_over, [FAR, COMPOST])
    hours = {("MARKET", 0): (("07:00", "13:00"),), ("NORTH-4", 0): (("12:00", "19:30"),)}
    notices = source_notices(SMALL_PROBLEM, SMALL_RESULT, sendings, hours)
    market = next(each for each in notices if (each.source, each.day) == ("MARKET", 0))
    said = say_notice(SMALL_PROBLEM, market, SMALL_NAMES, [FAR, COMPOST])
    assert [str(each) for each in said] == [
        "NORTH-4 comes on 2027-03-01 between 12:00 and 13:00 for 4.5 kg peelings.",
        "0.5 kg peelings go to Town compost on 2027-03-01.",
    ]


def test_the_bakery_keeps_its_crate_until_somebody_comes() -> None:
    notices = source_notices(SMALL_PROBLEM, SMALL_RESULT, ())
    bakery = [each for each in notices if each.source == "BAKERY"]
    assert [(each.day, each.nobody_comes) for each in bakery] == [(0, True), (1, False)]
    said = say_notice(SMALL_PROBLEM, bakery[0], SMALL_NAMES, ())
    assert [str(each) for each in said] == [
        "Nobody comes on 2027-03-01.",
        "Please keep 1.2 kg peelings; somebody may come until 2027-03-02.",
    ]


def test_hours_that_only_touch_do_not_meet() -> None:
    hours = {("S", 0): (("08:00", "12:00"),), ("D", 0): (("12:00", "14:00"),)}
    assert meeting(hours, "S", "D", 0) is None
    assert meeting({}, "S", "D", 0) is None


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_every_gram_is_collected_sent_or_stays_and_no_place_overflows(seed: int) -> None:
    problem = make_problem(8, 3, seed, days=4, supply=4.0)
    result = greedy_result(problem, seed)
    places = [
        Destination(code, code, 6_000, {source.code: i for i, source in enumerate(problem.sources)})
        for code in ("A", "B")
    ]
    sendings = send_left_over(problem, result.left_over, places)
    gone: dict[str, int] = defaultdict(int)
    used: dict[tuple[str, int], int] = defaultdict(int)
    for notice in source_notices(problem, result, sendings):
        for coming in notice.comings:
            gone[coming.batch] += coming.amount_g
        for sending in notice.sendings:
            gone[sending.batch] += sending.amount_g
            if sending.destination:
                used[sending.destination, sending.day] += sending.amount_g
        assert say_notice(problem, notice, SMALL_NAMES, places)
    assert gone == {batch.code: batch.amount_g for batch in problem.batches}
    assert all(amount_g <= 6_000 for amount_g in used.values())
