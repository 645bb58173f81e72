"""Reasons in the words of a button."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from apps.pickups.core.life import Step
from apps.pickups.operations.answer_pickup import REASONS

REASON_WORDS: dict[str, Promise] = {
    "ill": _("I am ill"),
    "away": _("I am away"),
    "full": _("My bin is full"),
    "no_time": _("I have no time"),
    "too_heavy": _("It is too heavy"),
    "other": _("Another reason"),
    "nobody_came": _("Nobody came"),
    "nobody_there": _("Nobody was there"),
    "nothing_there": _("There was nothing"),
    "spoiled": _("It was spoiled"),
    "foreign_matter": _("Plastic or the like was in it"),
    "gas_smell": _("Somebody smelled gas"),
    "composted": _("Composted instead"),
    "reassigned": _("It went to another home"),
}


def reasons_of(step: Step, *, leave_out: frozenset[str] = frozenset()) -> list[tuple[str, Promise]]:
    """Each reason a step may have, with its words."""
    return [(name, REASON_WORDS[name]) for name in REASONS[step.name] if name not in leave_out]
