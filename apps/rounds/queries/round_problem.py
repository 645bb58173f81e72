"""A carrier's day as a rounds problem: pickups of the day, hours of both ends, ways between."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from apps.groups.models import Group
from apps.kernel.figures import Figure
from apps.kernel.sentences import Sentence, gettext_noop
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.places.core.distance import SPEED_M_PER_S
from apps.places.core.streets.tags import Mode
from apps.places.models import Place
from apps.places.queries.way_lengths import WayLengths, way_lengths_m
from apps.planning.queries.meetings import PlaceHours, Windows, place_hours
from apps.rounds.core.other_hours import Others
from apps.rounds.core.problem import Break, End, Errand, Rounds, Side, Ways, Window
from apps.rounds.core.problem import Carrier as CoreCarrier
from apps.rounds.models import Carrier, Moving, Round, RoundState

STOP_S: Mapping[Side, Figure] = {
    Side.FETCH: Figure(180, "s", "3 to 6 minutes a pickup, stops included", "practice", low=120),
    Side.BRING: Figure(120, "s", "Emptying a pail and a word at the door", "assumed", low=60),
}
LOCK_SLACK_S = 600
"""A stop that is promised for a time is kept within so many seconds of it. A ruling of ours."""

WORTH_IT = 200_000
"""Value of a pickup in seconds of the carrier's time: whatever can be done in the day is done.
A gram more is worth a second more, up to `MOST_WORTH_S`: of two the heavier is kept."""

MOST_WORTH_S = 40_000

OPEN = (State.ANNOUNCED, State.ACCEPTED)

SHUT = gettext_noop("Left out: %(place)s is not open while %(carrier)s is out.")


@dataclass(frozen=True, slots=True)
class RoundProblem:
    """`rounds` with the pickups' UUIDs as codes; `shut` are pickups that no time fits; `others`
    the hours of places that are open more than once, beside those in `rounds`."""

    rounds: Rounds
    pickups: Mapping[str, Pickup]
    shut: Mapping[str, Sentence]
    places: Mapping[tuple[str, Side], str]
    ways: WayLengths
    others: Others

    @property
    def code(self) -> str:
        """Of the one carrier."""
        return self.rounds.carriers[0].code


@dataclass(frozen=True, slots=True)
class Beside:
    """All `carriers` among whom pickups are shared out, and the hours from when the first sets
    out to when the last is back: with them each one's problem has the same places and errands."""

    carriers: Sequence[Carrier]
    span: Window


def open_pickups(group: Group, on: date) -> list[Pickup]:
    """Announced or accepted ones that nobody carries in a round yet."""
    return list(
        _with_ends(Pickup.objects.of(group))
        .filter(on=on, state__in=OPEN)
        .exclude(round_stops__is_live=True)
    )


def days_to_carry(group: Group, first: date) -> dict[date, int]:
    """Days from `first` on, in order, that have open pickups or a round; with the number of
    pickups that nobody carries yet."""
    open_ = (
        Pickup.objects.of(group)
        .filter(on__gte=first, state__in=OPEN)
        .exclude(round_stops__is_live=True)
    )
    found = Counter(open_.values_list("on", flat=True))
    rounds = Round.objects.of(group).filter(on__gte=first).exclude(state=RoundState.DROPPED)
    for on in rounds.values_list("on", flat=True):
        found.setdefault(on, 0)
    return dict(sorted(found.items()))


def pickups_by_id(group: Group, ids: Collection[int]) -> list[Pickup]:
    """With all that a problem needs."""
    return list(_with_ends(Pickup.objects.of(group)).filter(pk__in=ids))


def _with_ends(rows: object) -> object:
    return rows.select_related(  # type: ignore[attr-defined]
        "source__place", "digester__place", "digester__household", "source__contact"
    ).prefetch_related("lines__stream__material")


def round_problem(
    carrier: Carrier,
    on: date,
    pickups: Sequence[Pickup],
    *,
    from_min: int,
    till_min: int,
    locks: Mapping[tuple[str, Side], int] | None = None,
    near: Mapping[tuple[str, Side], int] | None = None,
    fixed: Collection[str] = (),
    beside: Beside | None = None,
) -> RoundProblem:
    """`locks`: promised times [s] by pickup and side; `near`: times [s] at which the stop stands
    now, which choose among the hours of a place that is open more than once; `fixed`: pickups
    that are under way, whose hours are no longer asked; `beside`: carriers with whom the pickups
    are shared out. Five queries."""
    group = carrier.group
    hours = place_hours(group, on, 1)
    shift = Window(from_min * 60, till_min * 60)
    together = beside or Beside([carrier], shift)
    sites = _sites(together.carriers, pickups)
    index = {place.pk: number for number, place in enumerate(sites)}
    errands, shut, names = [], {}, {}
    others: dict[tuple[str, Side], Sequence[Window]] = {}
    for pickup in pickups:
        code = str(pickup.uuid)
        names[code, Side.FETCH] = pickup.source.name
        names[code, Side.BRING] = pickup.digester.name
        ends: dict[Side, End] = {}
        for side, place in ((Side.FETCH, pickup.source.place), (Side.BRING, pickup.digester.place)):
            promised = (locks or {}).get((code, side))
            at_s = promised if promised is not None else (near or {}).get((code, side))
            window, *more = _windows(
                hours, place, together.span, side, at_s=at_s, is_fixed=code in fixed
            ) or [None]
            if window is None:
                shut[code] = Sentence(
                    SHUT, {"place": names[code, side], "carrier": carrier.member.name}
                )
                break
            if more and at_s is None:
                others[code, side] = more
            ends[side] = End(
                index[place.pk],
                window if promised is None else _near(promised, window),
                int(STOP_S[side].value),
            )
        else:
            errands.append(_errand(code, pickup, ends, locks or {}))
    ways = way_lengths_m(group, sites, by=travel_mode(carrier))
    core = CoreCarrier(
        carrier.member.code,
        index[carrier.start_id],
        index[carrier.end_id],
        shift,
        carrier.load_limit_g,
        avoids=frozenset(
            index[pk] for pk in carrier.avoided.values_list("place_id", flat=True) if pk in index
        ),
        breaks=_breaks(carrier, shift),
    )
    rounds = Rounds(tuple(errands), (core,), (_matrices(ways, carrier),))
    known = {str(each.uuid): each for each in pickups}
    return RoundProblem(rounds, known, shut, names, ways, others)


def load_g(pickup: Pickup) -> int:
    """Grams to be carried: what was weighed at the source, else what is planned."""
    return sum(
        line.planned_g if line.collected_g is None else line.collected_g
        for line in pickup.lines.all()
    )


def _errand(
    code: str, pickup: Pickup, ends: Mapping[Side, End], locks: Mapping[tuple[str, Side], int]
) -> Errand:
    amount_g = max(1, load_g(pickup))
    is_promised = any((code, side) in locks for side in Side)
    return Errand(
        code,
        amount_g,
        ends[Side.FETCH],
        ends[Side.BRING],
        material=", ".join(sorted({line.stream.material.code for line in pickup.lines.all()})),
        value=None if is_promised else WORTH_IT + min(amount_g, MOST_WORTH_S),
    )


def _sites(carriers: Iterable[Carrier], pickups: Iterable[Pickup]) -> list[Place]:
    found: dict[int, Place] = {}
    for carrier in carriers:
        found[carrier.start_id], found[carrier.end_id] = carrier.start, carrier.end
    for pickup in pickups:
        for place in (pickup.source.place, pickup.digester.place):
            found[place.pk] = place
    return [found[pk] for pk in sorted(found)]


def _windows(
    hours: PlaceHours, place: Place, span: Window, side: Side, *, at_s: int | None, is_fixed: bool
) -> list[Window]:
    """When the work at a stop may begin: within opening hours that overlap the span, early enough
    to be done before they end. The longest first, or the one in which `at_s` lies."""
    if is_fixed:
        return [span]
    windows: Windows = hours.of(place.pk)[0]
    service_s = int(STOP_S[side].value)
    found = []
    for each in windows:
        from_s = max(each.opens_min * 60, span.from_s)
        till_s = min(each.closes_min * 60 - service_s, span.till_s)
        if from_s <= till_s:
            found.append(Window(from_s, till_s))
    return sorted(
        found,
        key=lambda each: (
            at_s is None or not each.from_s <= at_s <= each.till_s,
            each.from_s - each.till_s,
        ),
    )


def _near(promised_s: int, window: Window) -> Window:
    """The promised time give or take `LOCK_SLACK_S`, within the hours as far as that goes."""
    from_s = min(max(promised_s - LOCK_SLACK_S, window.from_s), window.till_s)
    return Window(from_s, max(from_s, min(promised_s + LOCK_SLACK_S, window.till_s)))


def _breaks(carrier: Carrier, shift: Window) -> tuple[Break, ...]:
    if carrier.rest_min is None or carrier.rest_from_min is None or carrier.rest_till_min is None:
        return ()
    from_s, till_s = carrier.rest_from_min * 60, carrier.rest_till_min * 60
    if till_s < shift.from_s or from_s > shift.till_s:
        return ()
    return (Break(Window(from_s, till_s), carrier.rest_min * 60),)


def travel_mode(carrier: Carrier) -> Mode:
    """On whose streets the carrier moves."""
    return "cart" if carrier.moving == Moving.ON_FOOT else "bicycle"


def _matrices(ways: WayLengths, carrier: Carrier) -> Ways:
    speed = SPEED_M_PER_S[carrier.moving].value
    metres = ways.metres.copy()
    np.fill_diagonal(metres, 0)
    seconds = np.ceil(np.round(metres / speed, 6)).astype(np.int64)
    return Ways.of(metres.tolist(), seconds.tolist())
