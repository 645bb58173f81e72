"""Limits that a change would pass, in words for the translators' catalogue."""

from __future__ import annotations

from datetime import timedelta

from apps.feedstock.core.risk_groups import RISK_GROUP_NAMES
from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.core.home import Passed
from apps.planning.core.plan_facts import Names
from apps.planning.core.problem import Problem
from apps.planning.core.tables import thousandths

PASSED = {
    "day_maximum feed": gettext_noop(
        "%(home)s would be fed %(over)s kg over its %(limit)s kg on %(on)s."
    ),
    "day_maximum vs": gettext_noop(
        "%(home)s would be loaded %(over)s kg of volatile solids over its %(limit)s kg on %(on)s."
    ),
    "day_maximum slurry": gettext_noop(
        "%(home)s would get %(over)s litres of slurry over its %(limit)s litres on %(on)s."
    ),
    "share_cap": gettext_noop(
        "%(home)s would be fed too large a share of %(what)s on %(on)s."
    ),
    "bin": gettext_noop("The bin of %(home)s holds %(limit)s kg; on %(on)s it would be "
                        "%(over)s kg too full."),
    "visits": gettext_noop("%(home)s makes at most %(limit)s pickups on %(on)s."),
    "carry_limit": gettext_noop(
        "From %(what)s to %(home)s at most %(limit)s kg can be carried on %(on)s; it would be "
        "%(over)s kg more."
    ),
    "min_pickup": gettext_noop(
        "A pickup for %(home)s on %(on)s is worth at least %(limit)s kg; %(over)s kg are missing."
    ),
    "source_homes": gettext_noop("%(what)s serves at most %(limit)s homes on %(on)s."),
    "batch_amount": gettext_noop("The batch has %(limit)s kg; %(over)s kg more were asked for."),
    "too_far": gettext_noop("%(home)s is too far away."),
    "hours_never_meet": gettext_noop("The hours of %(home)s and the source do not meet on %(on)s."),
    "material_refused": gettext_noop("%(home)s does not accept this material."),
    "banned": gettext_noop("Somebody ruled this source out for %(home)s on %(on)s."),
    "too_late": gettext_noop("It would spoil before %(home)s could feed it."),
    "collect_window": gettext_noop("It cannot be collected on %(on)s."),
}  # fmt: skip


def say_passed(passed: Passed, problem: Problem, names: Names) -> Sentence:
    """One limit, by how much, and where."""
    key = f"{passed.rule} {passed.what}" if passed.rule == "day_maximum" else passed.rule
    over, limit = (
        thousandths(each) if passed.unit in {"g", "ml"} else str(each)
        for each in (passed.over, passed.limit)
    )
    return Sentence(
        PASSED[key],
        {
            "home": names.digesters.get(passed.digester, passed.digester),
            "what": RISK_GROUP_NAMES.get(passed.what)
            or names.sources.get(passed.what, passed.what),
            "on": (problem.starts_on + timedelta(days=passed.day)).isoformat(),
            "over": over,
            "limit": limit,
        },
    )
