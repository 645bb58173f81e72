"""Reasons in words: templates with named places, for the translators' catalogue.

Figures are put in as text: kg and litres with a dot and at most three decimals, dates ISO.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.core.bends import Bend
from apps.planning.core.explain import LeftOverWhy, PlacementWhy
from apps.planning.core.lookup import Index
from apps.planning.core.plan_facts import LeftOverNote, Names
from apps.planning.core.reasons import (
    Blocked,
    Fixed,
    HasRoom,
    Held,
    NoHome,
    Outranked,
    Reason,
    SmallestChange,
)
from apps.planning.core.tables import thousandths

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
        "%(home)s is to get no feed at all until %(material)s of %(on)s spoils: its maximum is 0."
    ),
    "day_maximum feed": gettext_noop(
        "%(home)s is full: its feed until %(material)s of %(on)s spoils is %(used)s of at most "
        "%(limit)s kg; %(fit)s kg of the %(wanted)s kg fit."
    ),
    "day_maximum vs": gettext_noop(
        "%(home)s is full: its loading until %(material)s of %(on)s spoils is %(used)s of at "
        "most %(limit)s kg volatile solids; %(fit)s kg of the %(wanted)s kg fit."
    ),
    "day_maximum slurry": gettext_noop(
        "%(home)s is full: its slurry until %(material)s of %(on)s spoils is %(used)s of at most "
        "%(limit)s litres; %(fit)s kg of the %(wanted)s kg fit."
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
        "Only %(fit)s kg are left for %(home)s on %(on)s, and a pickup is worth at least "
        "%(limit)s kg."
    ),
    "below_smallest_pickup day_maximum": gettext_noop(
        "%(home)s is all but full on %(on)s: %(fit)s kg would reach its maximum, and a pickup is "
        "worth at least %(limit)s kg."
    ),
    "below_smallest_pickup share_cap": gettext_noop(
        "%(fit)s kg on %(on)s would reach the share of such waste at %(home)s, and a pickup is "
        "worth at least %(limit)s kg."
    ),
    "below_smallest_pickup bin_full": gettext_noop(
        "%(fit)s kg on %(on)s would fill the bin of %(home)s, and a pickup is worth at least "
        "%(limit)s kg."
    ),
    "below_smallest_pickup carry_limit": gettext_noop(
        "%(fit)s kg more on %(on)s would be all that can be carried to %(home)s, and a pickup is "
        "worth at least %(limit)s kg."
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
        "It could be placed, %(placed)s kg, only if %(home)s accepted %(material)s."
    ),
    "share_cap": gettext_noop(
        "It could be placed, %(placed)s kg, only if %(home)s might be fed %(by)s percentage "
        "points more %(what)s."
    ),
    "day_maximum feed": gettext_noop(
        "It could be placed, %(placed)s kg, only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s kg higher."
    ),
    "day_maximum vs": gettext_noop(
        "It could be placed, %(placed)s kg, only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s kg volatile solids higher."
    ),
    "day_maximum slurry": gettext_noop(
        "It could be placed, %(placed)s kg, only if the maximum of %(home)s on %(cap_on)s were "
        "%(by)s litres of slurry higher."
    ),
}

SAME_PICKUPS = gettext_noop("This was tested with all other pickups as they are.")
ASK_FIRST = gettext_noop(
    "This limit keeps the digester or people safe: it is for the coordinator to change, and not "
    "for the day."
)
NO_CHANGE = gettext_noop("No single rule, bent alone, would place it with the same pickups.")
STEADY_ELSEWHERE = gettext_noop(
    "The steady pair of %(source)s is %(home)s; this is why it goes elsewhere this time:"
)
STEADY = gettext_noop("%(source)s and %(home)s are a steady pair, %(distance)s m apart.")
NEAR = gettext_noop("%(source)s and %(home)s are %(distance)s m apart.")


@dataclass(frozen=True, slots=True)
class Speaker:
    """Says reasons with the names of one problem."""

    index: Index
    names: Names

    def say(self, reason: Reason) -> Sentence:  # noqa: PLR0911 - one a kind of reason
        """Why one home does not get a batch (or does, where it was fixed)."""
        match reason:
            case Blocked():
                return self._blocked(reason)
            case Outranked(code="outranked"):
                template = OUTRANKED[reason.wish]
                value, other = (
                    _wish_figure(reason.wish, each) for each in (reason.value, reason.other_value)
                )
                return Sentence(
                    template, {"home": self._home(reason.digester), "value": value, "other": other}
                )
            case Outranked():
                return self._other(reason.code, reason.digester, reason.other_day)
            case HasRoom():
                return Sentence(
                    OTHER["has_room"],
                    {
                        "home": self._home(reason.digester),
                        "fit": thousandths(reason.fit_g),
                        "on": self._on(reason.day),
                    },
                )
            case Held():
                return Sentence(OTHER[f"held {reason.rule}"], {"here": self._home(reason.home)})
            case Fixed():
                return self._other(reason.code, reason.digester, reason.day)
            case NoHome():
                source = self._source(self.index.batches[reason.batch].source)
                return Sentence(OTHER[reason.code], {"source": source})

    def say_change(self, change: SmallestChange | None) -> tuple[Sentence, ...]:
        """The smallest change that would place a batch, a caution, and what was tested."""
        if change is None:
            return (Sentence(NO_CHANGE),)
        bend = change.bend
        key = f"{bend.rule} {bend.what}" if bend.rule == "day_maximum" else bend.rule
        values = {
            "home": self._home(bend.digester),
            "source": self._source(bend.source),
            "material": self._material(change.batch),
            "what": bend.what,
            "on": self._on(bend.day),
            "cap_on": self._on(bend.cap_day),
            "placed": thousandths(change.amount_g),
            "by": _bend_figure(bend),
        }
        caution = () if bend.by_agreement else (Sentence(ASK_FIRST),)
        return (Sentence(CHANGE[key], values), *caution, Sentence(SAME_PICKUPS))

    def say_pair(self, why: PlacementWhy) -> Sentence:
        """How near the chosen home is, and whether the two are a steady pair."""
        batch = self.index.batches[why.placement.batch]
        return Sentence(
            STEADY if why.steady else NEAR,
            {
                "source": self._source(batch.source),
                "home": self._home(why.placement.digester),
                "distance": "?" if why.distance_m is None else str(why.distance_m),
            },
        )

    def say_steady_pair_left(
        self, why: PlacementWhy, only: str | None = None
    ) -> tuple[Sentence, ...]:
        """For a source that has a steady home elsewhere (or `only` that one): which, and why it
        goes here instead."""
        batch = self.index.batches[why.placement.batch]
        near = (
            pair
            for pair in self.index.homes_near[batch.source]
            if pair.digester != why.placement.digester
        )
        said: list[Sentence] = []
        for pair, reason in zip(near, why.others, strict=True):
            if pair.steady and not why.steady and only in (None, pair.digester):
                names = {"source": self._source(batch.source), "home": self._home(pair.digester)}
                said += [Sentence(STEADY_ELSEWHERE, names), self.say(reason)]
        return tuple(said)

    def note(self, why: LeftOverWhy, destination: str | None = None) -> LeftOverNote:
        """The words of a left-over for the exported plan."""
        has_room = isinstance(why.main, HasRoom)
        return LeftOverNote(
            batch=why.batch,
            reason_code=why.main.code,
            reason=str(self.say(why.main)),
            smallest_change=""
            if has_room
            else " ".join(str(each) for each in self.say_change(why.change)),
            destination=destination,
        )

    def _blocked(self, reason: Blocked) -> Sentence:
        shut = reason.code == "day_maximum" and not reason.limit
        key = f"{reason.code} {'nothing' if shut else reason.what}"
        batch = self.index.batches[reason.batch]
        in_thousandths = reason.unit in {"g", "ml"}
        used, limit = (
            thousandths(each) if in_thousandths else str(each)
            for each in (reason.used, reason.limit)
        )
        if reason.unit == "ppm":
            limit = f"{reason.limit / 10_000:g}"
        return Sentence(
            BLOCKED.get(key) or BLOCKED[reason.code],
            {
                "home": self._home(reason.digester),
                "source": self._source(batch.source),
                "material": self._material(reason.batch),
                "what": reason.what,
                "on": self._on(reason.day),
                "used": used,
                "limit": limit,
                "fit": thousandths(reason.fit_g),
                "wanted": thousandths(reason.wanted_g),
            },
        )

    def _other(self, code: str, digester: str, day: int) -> Sentence:
        return Sentence(OTHER[code], {"home": self._home(digester), "on": self._on(day)})

    def _home(self, code: str) -> str:
        return _name(self.names.digesters, code)

    def _source(self, code: str) -> str:
        return _name(self.names.sources, code)

    def _material(self, batch: str) -> str:
        return _name(self.names.materials, self.index.batches[batch].material)

    def _on(self, day: int) -> str:
        starts_on: date = self.index.problem.starts_on
        return (starts_on + timedelta(days=day)).isoformat()


def _name(names: Mapping[str, str], code: str) -> str:
    return names.get(code, code)


def _wish_figure(wish: str, value: float) -> str:
    """A wish's value in the unit of its sentence."""
    per_unit = {
        "below_minimum_vs_g": 1_000,
        "shortfall_vs_mg": 1_000_000,
        "left_over_g": 1_000,
        "carrying_g_m": 1_000_000,
        "unfairness_vs_mg": 1_000,
    }.get(wish, 1)
    return f"{value / per_unit:.6f}".rstrip("0").rstrip(".")


def _bend_figure(bend: Bend) -> str:
    if bend.unit in {"g", "ml"}:
        return thousandths(bend.by)
    return f"{bend.by / 10_000:g}" if bend.unit == "ppm" else str(bend.by)
