"""Reasons in words: the templates of `reason_words` with the names of one problem.

Figures are put in as text: kg and litres with a dot and at most three decimals, dates ISO.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from apps.feedstock.core.risk_groups import RISK_GROUP_NAMES
from apps.kernel.sentences import Sentence
from apps.planning.core.bends import Bend
from apps.planning.core.explain import LeftOverWhy, PlacementWhy
from apps.planning.core.lookup import Index
from apps.planning.core.plan_facts import LeftOverNote, Names
from apps.planning.core.reason_words import (
    ASK_FIRST,
    BLOCKED,
    CHANGE,
    NEAR,
    NO_CHANGE,
    OTHER,
    OUTRANKED,
    SAME_PICKUPS,
    STEADY,
    STEADY_ELSEWHERE,
)
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
            "what": _group(bend.what),
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
                "what": _group(reason.what),
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


def _group(code: str) -> str:
    """What people call a share group; anything else stays."""
    return RISK_GROUP_NAMES.get(code, code)


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
