"""What to say and do when somebody smells gas, or something else, at a place. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from types import MappingProxyType

from apps.kernel.sentences import Sentence, gettext_noop

GAS_SMELL_STEPS = (
    gettext_noop("No flame, no cigarette. Do not light or put out anything with a spark."),
    gettext_noop("Touch no switch and no plug. Do not use a phone here."),
    gettext_noop("Open doors and windows. Let air through."),
    gettext_noop("Close the gas valve if you reach it without going into the smell."),
    gettext_noop("Go outside, upwind, and take everybody with you. Never enter a pit."),
)
"""GTZ 1989 s. 7.5 (valves, ventilation), Harris (Adelaide) biogas safety page (no flame, no
phone near it), Penn State Extension (pits); their order is common practice, no source."""

_CALL = gettext_noop(
    "From outside, call %(number)s if it does not stop, or if anybody feels ill or dizzy."
)
_TOLD = gettext_noop("The coordinator is told now. This digester is not fed until it is tested.")
_OTHERS = gettext_noop("Thank you. Somebody looks at it and answers by %(deadline)s.")

ANSWER_WITHIN: Mapping[str, timedelta] = MappingProxyType(
    {
        "gas_smell": timedelta(hours=1),
        "leak": timedelta(hours=24),
        "bad_smell": timedelta(hours=48),
        "flies": timedelta(hours=72),
    }
)
"""By kind. Ours; flies need 7 to 10 days from egg to adult (pestonil; Doane 1910), so that three
days are in time."""


def say_gas_smell(emergency_number: str) -> tuple[Sentence, ...]:
    """What to do now, first things first."""
    return (
        *(Sentence(step) for step in GAS_SMELL_STEPS),
        Sentence(_CALL, {"number": emergency_number}),
        Sentence(_TOLD),
    )


def say_deadline(deadline: str) -> tuple[Sentence, ...]:
    """When somebody answers."""
    return (Sentence(_OTHERS, {"deadline": deadline}),)
