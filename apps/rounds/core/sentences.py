"""Why something was left out of a round, in words for the translators' catalogue."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence, gettext_noop
from apps.rounds.core.answer import Left, Why
from apps.rounds.core.problem import Side, Visit

LATE = {
    Side.FETCH: gettext_noop(
        "Left out: %(carrier)s would arrive %(minutes)s minutes after %(place)s shuts."
    ),
    Side.BRING: gettext_noop(
        "Left out: %(carrier)s would reach %(place)s %(minutes)s minutes after it stops receiving."
    ),
}
OTHER_LATE = gettext_noop(
    "Left out: with it %(carrier)s would be %(minutes)s minutes late for %(place)s."
)
WORDS = {
    Why.SHIFT: gettext_noop("Left out: %(carrier)s would be back %(minutes)s minutes too late."),
    Why.LOAD: gettext_noop("Left out: the cart would be %(kg)s kg over its limit."),
    Why.BREAK: gettext_noop("Left out: %(carrier)s would rest %(minutes)s minutes too late."),
    Why.AVOID: gettext_noop("Left out: %(carrier)s does not go to one of the two places."),
    Why.BOUND: gettext_noop("Left out: it belongs to somebody else's round."),
    Why.NOT_WORTH: gettext_noop("Left out: the way to it is longer than it is worth."),
    Why.CROWDED: gettext_noop("Left out: the round is better without it."),
}


def say_left(
    left: Left, carrier: str, places: Mapping[tuple[str, Side], str], visits: Sequence[Visit]
) -> Sentence:
    """`places`: what the place of an errand's end is called; `visits`: the tour it was tried in
    (without it). Minutes are rounded up."""
    figures: dict[str, str | int | float] = {
        "carrier": carrier,
        "minutes": math.ceil(left.by / 60),
        "kg": in_thousands(left.by),
    }
    if left.why is not Why.LATE or left.late_at is None:
        return Sentence(WORDS[left.why], figures)
    longer = list(visits)
    longer.insert(left.fetch_at, Visit(left.errand, Side.FETCH))
    if left.bring_at != left.fetch_at:
        longer.insert(left.bring_at, Visit(left.errand, Side.BRING))
    late = longer[left.late_at]
    figures["place"] = places[late.errand, late.side]
    return Sentence(LATE[late.side] if late.errand == left.errand else OTHER_LATE, figures)
