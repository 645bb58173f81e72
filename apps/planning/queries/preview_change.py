"""What a change would do to a plan, told at once and without making a new plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.core import problem as core
from apps.planning.core.answer_change import SECONDS, Answer, answer_change
from apps.planning.core.passed_words import say_passed
from apps.planning.core.read_document import problem_of, result_of
from apps.planning.core.what_if import Change, Consequences, HomeChange, what_if
from apps.planning.models import Plan
from apps.planning.queries.batches import batch_code
from apps.planning.queries.contradictions import ALONE
from apps.planning.queries.source_notices import document_names

_FED = gettext_noop(
    "%(home)s would be fed %(after)s kg of volatile solids in these days instead of %(before)s kg."
)
_OTHER = gettext_noop("%(home)s would be fed as much as before, but other waste.")
_HUNGRY = gettext_noop(
    "%(home)s would fall below its minimum: %(after)s of at least %(least)s kg of volatile solids."
)
_BELOW = gettext_noop(
    "%(home)s would fall below its target: %(after)s of %(target)s kg of volatile solids."
)
_MORE_LEFT = gettext_noop("%(kg)s kg more would be left over.")
_LESS_LEFT = gettext_noop("%(kg)s kg less would be left over.")
_SAME_LEFT = gettext_noop("As much as before would be left over.")
_FARTHER = gettext_noop(
    "Carrying would come to %(km)s kilogram-kilometres more than now (%(before)s), trips included."
)
_NEARER = gettext_noop(
    "Carrying would come to %(km)s kilogram-kilometres less than now (%(before)s), trips included."
)
_HUNGRY_DAYS = gettext_noop("Days on which a home gets less than its target: %(count)s more.")
_AROUND = gettext_noop("With a few homes planned anew around it:")
_NO_BETTER = gettext_noop("Planning the homes around it anew finds nothing better.")
_UNSURE = gettext_noop(
    "%(home)s would no longer be sure of its minimum: %(after)s kg of volatile solids are "
    "expected, but only %(sure)s of at least %(least)s kg surely come."
)
_STILL_HUNGRY = gettext_noop("Homes would miss %(kg)s kg of volatile solids to their minimum.")


@dataclass(frozen=True)
class Asked:
    """A change in the words of the rows: pins as (stream code, batch's day, digester code, day,
    grams or None), bans as (source code, digester code, day or None)."""

    pins: tuple[tuple[str, date, str, date, int | None], ...] = ()
    bans: tuple[tuple[str, str, date | None], ...] = ()
    lifted_pins: tuple[tuple[str, date, str, date], ...] = ()
    lifted_bans: tuple[tuple[str, str, date | None], ...] = ()


@dataclass(frozen=True)
class Preview:
    """`contradictions`: why the change cannot be kept; empty when it can. `effects`: what it
    does to homes and left-overs, empty when it cannot."""

    consequences: Consequences
    contradictions: tuple[Sentence, ...]
    effects: tuple[Sentence, ...]
    left_over_g: int
    """Grams more (negative: less) that would be left over."""
    better: tuple[Sentence, ...] = ()
    """The same of the best plan found around the change, where that was asked for."""


def preview_change(plan: Plan, asked: Asked, *, better: bool = False) -> Preview:
    """From the plan's own document: no query, nothing written, well under a second. It is what
    the change does with everything else as it is; a plan made anew may do better. `better`
    plans a few homes around it anew, within two seconds."""
    problem, result = problem_of(plan.document), result_of(plan.document)
    names = document_names(plan.document)
    change = _change(problem, asked)
    answer = answer_change(problem, result, change, seconds=SECONDS) if better else None
    found = answer.first if answer else what_if(problem, result, change)
    before_g = sum(each.amount_g for each in found.left_over_before)
    after_g = sum(each.amount_g for each in found.left_over_after)
    contradictions = tuple(
        say_passed(each, problem, names)
        for each in (
            *(each for each in found.would_pass if each.rule in ALONE),
            *found.cannot_keep,
        )
    )
    effects = (
        *(_say_home(home, names.digesters) for home in found.homes),
        *_say_hungry_days(found),
        _say_left(after_g - before_g),
        *_say_carrying(found.wishes),
    )
    return Preview(
        consequences=found,
        contradictions=contradictions,
        effects=() if contradictions else effects,
        left_over_g=after_g - before_g,
        better=_say_better(answer) if answer else (),
    )


def _change(problem: core.Problem, asked: Asked) -> Change:
    def day(on: date) -> int:
        return (on - problem.starts_on).days

    def ban(source: str, digester: str, on: date | None) -> core.Ban:
        return core.Ban(source, digester, None if on is None else day(on))

    lifted = {
        (batch_code(stream, batch_on), digester, day(on))
        for stream, batch_on, digester, on in asked.lifted_pins
    }
    return Change(
        pins=tuple(
            core.Pin(batch_code(stream, batch_on), digester, day(on), amount_g)
            for stream, batch_on, digester, on, amount_g in asked.pins
        ),
        lifted_pins=tuple(
            pin for pin in problem.pins if (pin.batch, pin.digester, pin.day) in lifted
        ),
        bans=tuple(ban(*each) for each in asked.bans),
        lifted_bans=tuple(ban(*each) for each in asked.lifted_bans),
    )


def _say_home(home: HomeChange, names: Mapping[str, str]) -> Sentence:
    name = names.get(home.digester, home.digester)
    figures = {
        "home": name,
        "before": _kg(home.fed_vs_g),
        "after": _kg(home.fed_vs_g_after),
        "least": _kg(home.min_vs_g),
        "sure": _kg(home.sure_vs_g_after),
        "target": _kg(home.target_vs_g),
    }
    if home.falls_below_minimum and home.fed_vs_g_after >= home.min_vs_g:
        return Sentence(_UNSURE, figures)
    if home.falls_below_minimum:
        return Sentence(_HUNGRY, figures)
    if home.falls_below_target:
        return Sentence(_BELOW, figures)
    return Sentence(_OTHER if figures["before"] == figures["after"] else _FED, figures)


def _say_hungry_days(found: Consequences) -> tuple[Sentence, ...]:
    count = sum(len(home.days_below_target) for home in found.homes)
    return (Sentence(_HUNGRY_DAYS, {"count": count}),) if count else ()


def _say_carrying(wishes: Sequence[tuple[str, float, float]]) -> tuple[Sentence, ...]:
    """Walking, as the plan's own wish counts it."""
    before, after = next((b, a) for name, b, a in wishes if name == "carrying_g_m")
    if round(after) == round(before):
        return ()
    figures = {"km": _kg(abs(after - before) / 1000), "before": _kg(before / 1000)}
    return (Sentence(_FARTHER if after > before else _NEARER, figures),)


def _say_better(answer: Answer) -> tuple[Sentence, ...]:
    """What the plan around the change has that the first answer has not, against the plan now."""
    if answer.better is None:
        return ()
    before = {name: value for name, value, _ in answer.first.wishes}
    first = tuple(after for _, _, after in answer.first.wishes)
    if tuple(wish.value for wish in answer.better.wishes) >= first:
        return (Sentence(_NO_BETTER),)
    after = {wish.name: wish.value for wish in answer.better.wishes}
    hungry_g = after["below_minimum_vs_g"]
    return (
        Sentence(_AROUND),
        *((Sentence(_STILL_HUNGRY, {"kg": _kg(hungry_g)}),) if hungry_g else ()),
        _say_left(round(after["left_over_g"] - before["left_over_g"])),
        *_say_carrying([(name, before[name], after[name]) for name in before]),
    )


def _say_left(more_g: int) -> Sentence:
    if not more_g:
        return Sentence(_SAME_LEFT)
    return Sentence(_MORE_LEFT if more_g > 0 else _LESS_LEFT, {"kg": _kg(abs(more_g))})


def _kg(grams: float) -> str:
    return f"{grams / 1000:.3f}".rstrip("0").rstrip(".")
