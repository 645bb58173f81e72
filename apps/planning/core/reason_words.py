"""Why a home does not get a batch, and what would have to change, as templates for the
translators' catalogue. Each is filled in by `sentences.Speaker`."""

from __future__ import annotations

from apps.kernel.sentences import gettext_noop

BLOCKED = {
    "too_far": gettext_noop("%(home)s is too far from %(source)s."),
    "banned": gettext_noop("%(source)s is not to go to %(home)s: somebody ruled it out."),
    "material_refused": gettext_noop("%(home)s does not accept %(material)s."),
    "hours_never_meet": gettext_noop(
        "The hours of %(source)s and %(home)s do not meet on %(on)s, the day it would come."
    ),
    "home_visits": gettext_noop(
        "%(home)s already makes %(used)s of at most %(limit)s pickups on %(on)s."
    ),
    "source_homes": gettext_noop(
        "%(source)s already serves %(used)s of at most %(limit)s homes on %(on)s."
    ),
    "change_budget": gettext_noop(
        "A new pickup for %(home)s on %(on)s would be more change to the announced plan than "
        "was allowed."
    ),
    "carry_limit": gettext_noop(
        "From %(source)s to %(home)s %(used)s kg of at most %(limit)s kg are carried on %(on)s; "
        "only %(fit)s kg of the %(wanted)s kg could be added."
    ),
    "day_maximum nothing": gettext_noop(
        "%(home)s is not to be fed at all while this would keep, from %(on)s on: its maximum is 0."
    ),
    "day_maximum feed": gettext_noop(
        "%(home)s is full: while this would keep, from %(on)s on, it is fed %(used)s of at most "
        "%(limit)s kg; %(fit)s kg of the %(wanted)s kg fit."
    ),
    "day_maximum vs": gettext_noop(
        "%(home)s is full: while this would keep, from %(on)s on, it is fed %(used)s of at most "
        "%(limit)s kg of volatile solids; %(fit)s kg of the %(wanted)s kg fit."
    ),
    "day_maximum slurry": gettext_noop(
        "%(home)s is full: while this would keep, from %(on)s on, its feed and water come to "
        "%(used)s of at most %(limit)s litres; %(fit)s kg of the %(wanted)s kg fit."
    ),
    "share_cap": gettext_noop(
        "At %(home)s %(what)s may be at most %(limit)s %% of a day's feed; %(fit)s kg of the "
        "%(wanted)s kg fit from %(on)s on."
    ),
    "bin_full": gettext_noop(
        "The bin of %(home)s would hold %(used)s of at most %(limit)s kg before it; %(fit)s kg "
        "of the %(wanted)s kg fit from %(on)s on."
    ),
    "below_smallest_pickup": gettext_noop(
        "Only %(fit)s kg are left for %(home)s on %(on)s, and nobody is sent for less than "
        "%(limit)s kg."
    ),
    "below_smallest_pickup day_maximum": gettext_noop(
        "%(home)s is all but full on %(on)s: it could still take %(fit)s kg, and nobody is sent "
        "for less than %(limit)s kg."
    ),
    "below_smallest_pickup share_cap": gettext_noop(
        "On %(on)s %(home)s may be fed %(fit)s kg more of such waste beside what else it gets, "
        "and nobody is sent for less than %(limit)s kg."
    ),
    "below_smallest_pickup bin_full": gettext_noop(
        "The bin of %(home)s has room for %(fit)s kg on %(on)s, and nobody is sent for less than "
        "%(limit)s kg."
    ),
    "below_smallest_pickup carry_limit": gettext_noop(
        "Only %(fit)s kg more can be carried to %(home)s on %(on)s, and nobody is sent for less "
        "than %(limit)s kg."
    ),
    "below_smallest_part": gettext_noop(
        "Only %(fit)s kg of it would fit at %(home)s on %(on)s; less than %(limit)s kg of a batch "
        "is not sent there by itself."
    ),
    "amount_fixed": gettext_noop(
        "How much goes to %(home)s on %(on)s is fixed by a pin or a pickup that was started."
    ),
    "too_late": gettext_noop("It would spoil before %(home)s could feed it."),
}

OUTRANKED = {
    "below_minimum_vs_g": gettext_noop(
        "At %(home)s instead, digesters would miss %(other)s kg volatile solids of their "
        "seven-day minimum, now %(value)s kg."
    ),
    "sources_overdue": gettext_noop(
        "At %(home)s instead, %(other)s sources would wait longer than they should, now %(value)s."
    ),
    "changes_over_budget": gettext_noop(
        "At %(home)s instead, %(other)s pickups more than allowed would change, now %(value)s."
    ),
    "shortfall_vs_mg": gettext_noop(
        "At %(home)s instead, digesters would be further below target: %(other)s kg volatile "
        "solids, the emptiest counting most, now %(value)s kg."
    ),
    "left_over_g": gettext_noop(
        "At %(home)s instead, %(other)s kg would be left over, now %(value)s kg."
    ),
    "carrying_g_m": gettext_noop(
        "At %(home)s instead, carrying would be %(other)s kilogram-kilometres with its trips, "
        "now %(value)s."
    ),
    "unsteady_trips": gettext_noop(
        "At %(home)s instead, %(other)s trips would leave steady pairs, now %(value)s."
    ),
    "unfairness_vs_mg": gettext_noop(
        "At %(home)s instead, homes ahead of their four-week share would get more: %(other)s g "
        "volatile solids weighted by how far ahead they are, now %(value)s g."
    ),
}

OTHER = {
    "has_room": gettext_noop(
        "%(home)s could still take %(fit)s kg on %(on)s: ask for a better plan."
    ),
    "as_good": gettext_noop("%(home)s on %(on)s would be just as good."),
    "would_be_better": gettext_noop("%(home)s on %(on)s would be better: ask for a better plan."),
    "held share_cap": gettext_noop(
        "Without it, one kind of waste would be too large a share of what %(here)s is fed."
    ),
    "held min_pickup": gettext_noop(
        "Without it, what is left of that pickup for %(here)s would be too small to be worth it."
    ),
    "pinned": gettext_noop("It was pinned to %(home)s on %(on)s."),
    "started": gettext_noop("The pickup for %(home)s on %(on)s had been started."),
    "nobody_in_reach": gettext_noop("No digester is within reach of %(source)s."),
    "not_in_these_days": gettext_noop("It cannot be collected within the days of this plan."),
}

CHANGE = {
    "home_visits": gettext_noop(
        "One pickup more for %(home)s on %(on)s would place %(placed)s kg."
    ),
    "source_homes": gettext_noop(
        "One home more for %(source)s on %(on)s would place %(placed)s kg, at %(home)s."
    ),
    "hours": gettext_noop(
        "If %(source)s and %(home)s could meet on %(on)s, it would place %(placed)s kg."
    ),
    "ban": gettext_noop(
        "Allowing %(source)s to go to %(home)s on %(on)s would place %(placed)s kg."
    ),
    "change_budget": gettext_noop(
        "Allowing %(by)s changes more would place %(placed)s kg, at %(home)s on %(on)s."
    ),
    "smallest_pickup": gettext_noop(
        "A smallest pickup %(by)s kg smaller for %(home)s on %(on)s would place %(placed)s kg."
    ),
    "carry_limit": gettext_noop(
        "Carrying %(by)s kg more to %(home)s on %(on)s would place %(placed)s kg."
    ),
    "bin": gettext_noop("A bin for %(by)s kg more at %(home)s would place %(placed)s kg."),
    "material": gettext_noop(
        "%(placed)s kg of it could be placed only if %(home)s accepted %(material)s."
    ),
    "share_cap": gettext_noop(
        "%(placed)s kg of it could be placed only if the share of %(what)s at %(home)s might be "
        "%(by)s percentage points higher."
    ),
    "day_maximum feed": gettext_noop(
        "%(placed)s kg of it could be placed only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s kg higher."
    ),
    "day_maximum vs": gettext_noop(
        "%(placed)s kg of it could be placed only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s kg of volatile solids higher."
    ),
    "day_maximum slurry": gettext_noop(
        "%(placed)s kg of it could be placed only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s litres of slurry higher."
    ),
}

SAME_PICKUPS = gettext_noop("This was tested with all other pickups as they are.")
ASK_FIRST = gettext_noop(
    "This limit keeps the digester or people safe: it is for the coordinator to change, and not "
    "for the day."
)
NO_CHANGE = gettext_noop(
    "While all other pickups stay, no exception to a single rule would place it."
)
STEADY_ELSEWHERE = gettext_noop(
    "%(home)s is the steady home of %(source)s. Its waste goes elsewhere this time, because:"
)
STEADY = gettext_noop("%(source)s and %(home)s are a steady pair, %(distance)s m apart.")
NEAR = gettext_noop("%(source)s and %(home)s are %(distance)s m apart.")
