"""Every step from every state by every party: allowed, or refused with a sentence."""

from __future__ import annotations

import itertools

import pytest

from apps.pickups.core.life import (
    ACCEPT,
    COMPLETE,
    DECLINE,
    ENDED,
    FAIL,
    STEPS,
    WITHDRAW,
    Party,
    State,
    StepRefused,
    check_step,
)


@pytest.mark.parametrize(("step", "state", "party"), list(itertools.product(STEPS, State, Party)))
def test_a_step_is_taken_or_refused_in_words(step, state, party):
    if state in step.from_states and party in step.parties:
        check_step(step, state, party, reason="ill")
    else:
        with pytest.raises(StepRefused, match=r"\.$"):
            check_step(step, state, party, reason="ill")


MOVING = [step for step in STEPS if step.target is not None]


@pytest.mark.parametrize(("step", "state"), list(itertools.product(MOVING, sorted(ENDED))))
def test_nothing_leads_out_of_an_end(step, state):
    with pytest.raises(StepRefused):
        check_step(step, state, Party.COORDINATOR, reason="ill")


def test_a_withdrawn_pickup_says_not_to_go():
    with pytest.raises(StepRefused, match="Do not go"):
        check_step(COMPLETE, State.WITHDRAWN, Party.FETCHER)


@pytest.mark.parametrize("step", [DECLINE, FAIL])
def test_a_no_needs_a_reason(step):
    with pytest.raises(StepRefused, match="Say why"):
        check_step(step, State.ANNOUNCED, Party.FETCHER)


def test_a_source_can_neither_accept_nor_withdraw():
    for step in (ACCEPT, WITHDRAW):
        with pytest.raises(StepRefused):
            check_step(step, State.ANNOUNCED, Party.GIVER)
