"""What was sent by links that had ended and nobody has settled, said in a sentence."""

from __future__ import annotations

from apps.groups.models import Group
from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence, gettext_noop
from apps.pickups.models import LateKind, LateMessage

_SAY = {
    LateKind.GOING: gettext_noop(
        "%(name)s wrote after the link had ended: will go to %(where)s on %(on)s."
    ),
    LateKind.NOT_GOING: gettext_noop(
        "%(name)s wrote after the link had ended: cannot go to %(where)s on %(on)s."
    ),
    LateKind.LATER: gettext_noop(
        "%(name)s wrote after the link had ended: later at %(where)s on %(on)s."
    ),
    LateKind.FAILED: gettext_noop(
        "%(name)s wrote after the link had ended: nothing was fetched at %(where)s on %(on)s."
    ),
    LateKind.COLLECTED: gettext_noop(
        "%(name)s wrote after the link had ended: %(kg)s kg collected at %(where)s on %(on)s."
    ),
    LateKind.GIVEN: gettext_noop(
        "%(name)s wrote after the link had ended: %(kg)s kg handed over at %(where)s on %(on)s."
    ),
    LateKind.WRONG_WEIGHT: gettext_noop(
        "%(name)s wrote after the link had ended: the weight at %(where)s on %(on)s is wrong."
    ),
    LateKind.FED: gettext_noop(
        "%(name)s wrote after the link had ended: %(where)s was fed by the recipe on %(on)s."
    ),
    LateKind.AS_BEFORE: gettext_noop(
        "%(name)s wrote after the link had ended: as much as before at %(where)s on %(on)s."
    ),
    LateKind.NOTHING: gettext_noop(
        "%(name)s wrote after the link had ended: nothing to fetch at %(where)s on %(on)s."
    ),
    LateKind.OFFERED: gettext_noop(
        "%(name)s wrote after the link had ended: %(kg)s kg to fetch at %(where)s on %(on)s."
    ),
    LateKind.OTHER: gettext_noop(
        "%(name)s wrote after the link had ended, for %(where)s on %(on)s: %(words)s."
    ),
}
MOST_CHARACTERS = 200
"""Of other words in a sentence."""


def open_late_messages(group: Group) -> list[LateMessage]:
    """The oldest first, whatever their day. One query."""
    return list(
        LateMessage.objects.of(group)
        .filter(settled_at=None)
        .select_related(
            "link__member", "link__digester", "link__source", "pickup__source", "pickup__digester"
        )
        .order_by("received_at", "pk")
    )


def say_late(message: LateMessage) -> Sentence:
    """Who said what, for which pickup or place and day."""
    link = message.link
    where = message.pickup.source if message.pickup else link.digester or link.source
    values: dict[str, str | int | float] = {
        "name": link.member.name,
        "where": where.name if where else "",
        "on": link.on.isoformat(),
    }
    if message.amount_g is not None:
        values["kg"] = in_thousands(message.amount_g)
    if message.kind == LateKind.OTHER:
        said = (
            f"{name} {', '.join(texts)}"
            for name, texts in sorted(message.words.items())
            if name not in ("do", "pickup", "revision") and any(texts)
        )
        values["words"] = "; ".join(said)[:MOST_CHARACTERS]
    return Sentence(_SAY[LateKind(message.kind)], values)
