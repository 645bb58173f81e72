"""Every reason has words, and the words have all their figures."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.core import reason_words
from apps.planning.core.explain import explain_left_over, explain_placement, explain_plan
from apps.planning.core.problem import Placement
from apps.planning.core.reasons import Blocked, NoHome, Outranked
from apps.planning.core.result import WISHES
from apps.planning.core.sentences import Speaker
from apps.planning.core.standing import Standing
from tests.planning.generator import make_problem
from tests.planning.greedy import greedy_result
from tests.planning.small_plan import SMALL_NAMES, SMALL_PROBLEM, SMALL_RESULT

STANDING = Standing.of(SMALL_PROBLEM, SMALL_RESULT)
SPEAKER = Speaker(STANDING.index, SMALL_NAMES)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=10, deadline=None)
def test_every_reason_can_be_said(seed: int) -> None:
    problem = make_problem(7, 3, seed, days=4, supply=2.0)
    result = greedy_result(problem, seed, share=0.8)
    placements, left = explain_plan(problem, result)
    speaker = Speaker(Standing.of(problem, result).index, SMALL_NAMES)
    said = [str(speaker.say(reason)) for why in placements for reason in why.others]
    said += [str(speaker.say(reason)) for why in left for reason in (why.main, *why.homes)]
    said += [str(each) for why in left for each in speaker.say_change(why.change)]
    said += [str(speaker.say_pair(why)) for why in placements]
    for text in said:
        assert text.endswith(".")
        assert "%(" not in text


def test_every_wish_has_a_sentence() -> None:
    assert set(reason_words.OUTRANKED) == {name for name, _ in WISHES}


def test_templates_have_named_places_only() -> None:
    templates = [
        *reason_words.BLOCKED.values(),
        *reason_words.OUTRANKED.values(),
        *reason_words.OTHER.values(),
        *reason_words.CHANGE.values(),
    ]
    for template in templates:
        assert not re.search(r"%(?!\(\w+\)s)", template.replace("%%", "")), template


def test_a_full_home_names_its_figures() -> None:
    """By hand (see test_explain): 1.46 of 2 kg fit; on 3 March South is fed 540 g usable of a
    crate, 540 x 0.15 = 81 of 300 g VS. The first cap of equal ones, mass, is named."""
    placement = next(each for each in SMALL_RESULT.placements if each.batch == "J2")
    (other,) = explain_placement(STANDING, placement).others
    assert str(SPEAKER.say(other)) == (
        "SOUTH-9 is full: while this would keep, from 2027-03-03 on, it is fed 0.54 of at most "
        "2 kg; 1.46 kg of the 2 kg fit."
    )


def test_a_ban_is_said_with_the_source_by_name() -> None:
    banned = explain_left_over(STANDING, "M1").homes[0]
    assert str(SPEAKER.say(banned)) == (
        "Covered market is not to go to SOUTH-9: somebody ruled it out."
    )


def test_nobody_in_reach_and_nothing_to_bend() -> None:
    assert (
        str(SPEAKER.say(NoHome("nobody_in_reach", "M1")))
        == "No digester is within reach of Covered market."
    )
    (nothing,) = SPEAKER.say_change(None)
    assert str(nothing).startswith("While all other pickups stay")


def test_a_wish_is_said_in_kilograms() -> None:
    reason = Outranked("outranked", "J2", "NORTH-4", 2, "SOUTH-9", 2, "left_over_g", 600, 1_140)
    assert str(SPEAKER.say(reason)) == (
        "At SOUTH-9 instead, 1.14 kg would be left over, now 0.6 kg."
    )


def test_a_share_is_said_in_percent() -> None:
    reason = Blocked("share_cap", "M2", "NORTH-4", 1, 600, 100, 500, 0, 200_000, "ppm", "citrus")
    assert "citrus may be at most 20 % of a day's feed" in str(SPEAKER.say(reason))


def test_a_share_is_said_by_what_people_call_the_group() -> None:
    reason = Blocked("share_cap", "M2", "NORTH-4", 1, 600, 100, 500, 0, 200_000, "ppm", "cooked")
    assert "cooked waste may be at most 20 %" in str(SPEAKER.say(reason))


def test_a_handful_is_said_with_the_least() -> None:
    reason = Blocked("below_smallest_part", "M2", "NORTH-4", 1, 600, 100, 250, 0, 250, "g")
    assert "less than 0.25 kg of a batch is not sent there" in str(SPEAKER.say(reason))


def test_a_digester_that_is_to_get_nothing_is_not_called_full_at_nothing() -> None:
    reason = Blocked("day_maximum", "M2", "NORTH-4", 1, 600, 0, 500, 0, 0, "g", "feed")
    assert "is not to be fed at all" in str(SPEAKER.say(reason))


def test_a_source_whose_steady_home_is_left_is_told_why() -> None:
    """The juice stall is steady with NORTH-4; its batch J1 was started to SOUTH-9."""
    left = explain_placement(STANDING, Placement("J1", "SOUTH-9", 1, 900))
    first, reason = map(str, SPEAKER.say_steady_pair_left(left))
    assert "is the steady home of" in first
    assert reason == str(SPEAKER.say(left.others[0]))
    kept = explain_placement(STANDING, Placement("J2", "NORTH-4", 2, 2_000))
    assert SPEAKER.say_steady_pair_left(kept) == ()
