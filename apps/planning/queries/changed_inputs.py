"""What differs between two problems, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from apps.planning.core.canonical import sort_problem
from apps.planning.core.problem import Problem

MOST_NAMED = 3
"""Codes named of each kind; more would not be read."""


def changed_inputs(before: Problem, after: Problem) -> list[str]:
    """One sentence for each part that changed, naming the first few of it."""
    before, after = sort_problem(before), sort_problem(after)
    parts = (
        ("digesters", _("digesters changed (%(names)s).")),
        ("batches", _("what sources have changed (%(names)s).")),
        ("sources", _("when sources were last visited changed (%(names)s).")),
        ("materials", _("materials changed (%(names)s).")),
        ("pairs", _("distances or hours changed (%(names)s).")),
        ("pins", _("pins changed (%(names)s).")),
        ("bans", _("bans changed (%(names)s).")),
        ("started", _("pickups have begun (%(names)s).")),
        ("previous", _("another plan was announced meanwhile (%(names)s).")),
    )
    sentences = []
    for part, sentence in parts:
        names = _different(getattr(before, part), getattr(after, part))
        if names:
            more = "" if len(names) <= MOST_NAMED else " …"
            sentences.append(sentence % {"names": ", ".join(names[:MOST_NAMED]) + more})
    if before.rules != after.rules:
        sentences.append(_("the group's planning rules changed."))
    return sentences


def _different(before: Sequence[Any], after: Sequence[Any]) -> list[str]:
    return sorted({_name(item) for item in {*before} ^ {*after}})


def _name(item: Any) -> str:
    if hasattr(item, "code"):
        return str(item.code)
    return " → ".join(
        str(getattr(item, field))
        for field in ("source", "batch", "digester")
        if hasattr(item, field)
    )
