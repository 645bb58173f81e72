"""The life of a pickup: which step leads where, and who may take it. Pure.

    announced ──accept──▶ accepted ──collect──▶ collected ──deliver──▶ delivered
        │  └──────────────────┴──────── complete (both at once) ──────▶ delivered
        ├──decline──▶ declined        (also from accepted)
        ├──fail─────▶ failed          (also from accepted, collected)
        └──withdraw─▶ withdrawn       (also from accepted, declined; by a new plan)

    announced, accepted ──hand over─▶ announced (to a neighbour, who answers anew)
    announced, accepted ──take over─▶ accepted  (by the first of those on standby)
    announced, accepted, collected ──late──▶ the same, expected later
    delivered ──contest──▶ delivered, its weight shown as contested to both

Delivered, failed and withdrawn are ends. A declined pickup is not offered to the same home
again that day. Collected ones are started: the planner may not move them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from apps.kernel.errors import Conflict
from apps.kernel.words import gettext_noop


class State(StrEnum):
    """Where a pickup is in its life."""

    ANNOUNCED = "announced"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    COLLECTED = "collected"
    DELIVERED = "delivered"
    FAILED = "failed"
    WITHDRAWN = "withdrawn"


class Party(StrEnum):
    """In what capacity somebody acts."""

    FETCHER = "fetcher"
    """The digester's household, or the carrier who fetches for it."""
    GIVER = "giver"
    """The source's contact."""
    COORDINATOR = "coordinator"
    STANDBY = "standby"
    """Somebody who said that they can step in."""
    PLAN = "plan"
    """A newly announced plan."""


@dataclass(frozen=True, slots=True)
class Step:
    """One kind of transition."""

    name: str
    from_states: frozenset[State]
    target: State | None
    """None: it stays where it is."""
    parties: frozenset[Party]
    needs_reason: bool = False

    @property
    def may_come_again(self) -> bool:
        """Whether the state it leads to is one it starts from, so that the state alone does not
        tell a repeat from a second one."""
        return self.target is None or self.target in self.from_states


_OPEN = frozenset({State.ANNOUNCED, State.ACCEPTED})
_PEOPLE = frozenset({Party.FETCHER, Party.COORDINATOR})

ACCEPT = Step("accept", frozenset({State.ANNOUNCED}), State.ACCEPTED, _PEOPLE)
DECLINE = Step("decline", _OPEN, State.DECLINED, _PEOPLE, needs_reason=True)
COLLECT = Step("collect", _OPEN, State.COLLECTED, _PEOPLE)
DELIVER = Step("deliver", frozenset({State.COLLECTED}), State.DELIVERED, _PEOPLE)
COMPLETE = Step("complete", _OPEN | {State.COLLECTED}, State.DELIVERED, _PEOPLE)
FAIL = Step(
    "fail",
    _OPEN | {State.COLLECTED},
    State.FAILED,
    _PEOPLE | {Party.GIVER},
    needs_reason=True,
)
WITHDRAW = Step(
    "withdraw",
    _OPEN | {State.DECLINED},
    State.WITHDRAWN,
    frozenset({Party.PLAN, Party.COORDINATOR}),
)
LATE = Step("late", _OPEN | {State.COLLECTED}, None, _PEOPLE)
HAND_OVER = Step("hand_over", _OPEN, State.ANNOUNCED, _PEOPLE)
TAKE_OVER = Step("take_over", _OPEN, State.ACCEPTED, frozenset({Party.STANDBY}))
CONTEST = Step("contest", frozenset({State.DELIVERED}), None, _PEOPLE | {Party.GIVER})

STEPS = (
    ACCEPT, DECLINE, COLLECT, DELIVER, COMPLETE, FAIL, WITHDRAW,
    LATE, HAND_OVER, TAKE_OVER, CONTEST,
)  # fmt: skip
STARTED = frozenset({State.COLLECTED, State.DELIVERED})
"""What the planner must leave as it is."""
ENDED = frozenset({State.DELIVERED, State.FAILED, State.WITHDRAWN})


class StepRefused(Conflict):
    """The pickup is not where this step starts, or this person may not take it."""

    code = "step_refused"


_WHY_NOT = {
    State.ACCEPTED: gettext_noop("This pickup was already accepted."),
    State.DECLINED: gettext_noop(
        "This pickup was declined. The coordinator can find another home."
    ),
    State.COLLECTED: gettext_noop("This pickup was already collected; say what arrived."),
    State.DELIVERED: gettext_noop("This pickup is already done; look at what was written down."),
    State.FAILED: gettext_noop("This pickup did not happen; ask the coordinator for another."),
    State.WITHDRAWN: gettext_noop(
        "This pickup was withdrawn because the plan changed. Do not go; look at today's page."
    ),
    State.ANNOUNCED: gettext_noop("This pickup is announced and not begun yet."),
}


def refusal(state: State, **figures: str) -> StepRefused:
    """What is said to somebody whose pickup has come to `state`."""
    return StepRefused(_WHY_NOT[state], figures={"state": state.value, **figures})


def check_step(step: Step, state: State, party: Party, reason: str = "") -> None:
    """Raise `StepRefused` with the reason in words, or return."""
    if party not in step.parties:
        raise StepRefused(
            gettext_noop("Only the people who fetch, or a coordinator, can do this."),
            figures={"step": step.name, "party": party.value},
        )
    if state not in step.from_states:
        raise refusal(state, step=step.name)
    if step.needs_reason and not reason:
        raise StepRefused(
            gettext_noop("Say why, so that the coordinator knows what to do."),
            field="reason",
            figures={"step": step.name},
        )
