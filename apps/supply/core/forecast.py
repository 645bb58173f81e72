"""What a stream will have on a day: three quantiles, from its own past where it has one."""

import statistics
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from apps.kernel.figures import FigureError, finite, whole
from apps.supply.core.kind_average import KindAverage
from apps.supply.core.stream_model import StreamModel, fit_stream

WINDOW_WEEKS = 26
"""Weeks of weights that count; older ones say nothing that newer ones do not. Assumed."""

LOW, HIGH = 0.20, 0.80
"""Quantiles: hunger is planned against the low one, bins against the high one."""

RECKONED_SHARE = 2
"""A plan reckons with at least one in so many grams of what is expected. A ruling of ours."""
RECKONED_WHOLE_G = 1_000
"""Less than this is reckoned with whole, so that what small sources have stays worth a walk."""

LEAST_KEPT = 5
"""Offers that were fetched, from which a source's word is weighed against what it had."""

_Z = statistics.NormalDist().inv_cdf(HIGH)


class Basis(Enum):
    """What a forecast rests on."""

    OFFER = "offer"
    ABSENT = "absent"
    HISTORY = "history"
    DECLARED = "declared"


@dataclass(frozen=True)
class Weight:
    """What a stream really had on one day, in whole grams."""

    on: date
    amount_g: int

    def __post_init__(self) -> None:
        whole(self.amount_g, f"The weight of {self.on}", "grams")


@dataclass(frozen=True)
class DeclaredPattern:
    """What the source says it has: grams by weekday, Monday first, and the spread around them.

    ``spread_share``: standard deviation over mean, e.g. 0.3.
    """

    by_weekday_g: tuple[int, int, int, int, int, int, int]
    spread_share: float = 0.3

    def __post_init__(self) -> None:
        if len(self.by_weekday_g) != 7:
            raise FigureError(
                f"The weekday pattern has {len(self.by_weekday_g)} amounts; give seven, Monday "
                "first."
            )
        for amount_g in self.by_weekday_g:
            whole(amount_g, "An amount of the weekday pattern", "grams")
        finite(self.spread_share, "The spread", "of the mean", high=2.0)


@dataclass(frozen=True)
class Forecast:
    """One day's forecast in whole grams. Of ten such days about two have less than ``p20_g``
    and two more than ``p80_g``; ``weights_used`` says how many weights of that weekday it
    rests on."""

    on: date
    p20_g: int
    p50_g: int
    p80_g: int
    basis: Basis
    weights_used: int = 0


@dataclass(frozen=True)
class Past:
    """What is known of one stream.

    ``weights``: what it had, in any order, each day once; ``away_on``: days on which it is shut
    or nobody is there, past and to come; ``percents``: unusual days in percent of a usual one
    (see ``day_effects``); ``since_on``: the first day after it changed hands or goods, when
    somebody said so; ``kept_shares``: of its offers that were fetched, collected over offered.
    """

    declared: DeclaredPattern
    weights: Sequence[Weight] = ()
    away_on: Collection[date] = frozenset()
    percents: Mapping[date, int] | None = None
    since_on: date | None = None
    kept_shares: Sequence[float] = ()
    kind: KindAverage | None = None


@dataclass(frozen=True)
class Learnt:
    """A stream's past, learnt once for any number of days."""

    past: Past
    model: StreamModel

    @property
    def changed_on(self) -> date | None:
        """The day from which its past counts; None without a past."""
        return self.model.since_on

    def forecast(self, on: date, offer_g: int | None = None) -> Forecast:
        """Forecast ``on``. An offer replaces what was learnt, widened by how earlier offers
        were kept; nothing is expected on a day away or shut."""
        past = self.past
        if offer_g is not None:
            return _from_offer(on, whole(offer_g, "The offer", "grams"), past.kept_shares)
        percent = (past.percents or {}).get(on, 100)
        if on in past.away_on or percent == 0:
            return Forecast(on, 0, 0, 0, Basis.ABSENT)
        used = self.model.weights_used[on.weekday()]
        if not any(self.model.weights_used):
            return _spread(on, self.model.expect_g(on) * percent / 100, self._spread_share())
        low_g, middle_g, high_g = (
            round(self.model.quantile_g(on, share) * percent / 100) for share in (LOW, 0.5, HIGH)
        )
        return Forecast(on, low_g, middle_g, high_g, Basis.HISTORY, used)

    def _spread_share(self) -> float:
        return _start(self.past)[1]


def learn(past: Past, before_on: date) -> Learnt:
    """What the stream's weights of the half year before ``before_on`` tell. O(weights)."""
    first_on = before_on - timedelta(weeks=WINDOW_WEEKS)
    if past.since_on is not None:
        first_on = max(first_on, past.since_on)
    seen: dict[date, int] = {}
    for weight in past.weights:
        if weight.on in seen:
            raise FigureError(f"{weight.on} is weighed twice; add up that day's weights first.")
        seen[weight.on] = weight.amount_g
    usable = sorted(
        (on, amount_g)
        for on, amount_g in seen.items()
        if first_on <= on < before_on and on not in past.away_on
    )
    declared_g, spread_share = _start(past)
    return Learnt(past, fit_stream(declared_g, spread_share, usable, past.percents))


def reckoned_g(low_g: int, expected_g: int) -> int:
    """The grams that a plan reckons with: what surely comes, or half of what is expected where
    that is more. Whoever goes takes more when there is more, as their bin has room for the high
    figure: so a home rarely lacks what was planned for it, and fewer have to go.
    """
    whole_g = min(expected_g, RECKONED_WHOLE_G)
    return max(low_g, expected_g // RECKONED_SHARE, whole_g)


def forecast_day(
    on: date,
    declared: DeclaredPattern,
    history: Sequence[Weight] = (),
    away_on: Collection[date] = (),
    offer_g: int | None = None,
) -> Forecast:
    """Forecast one stream for one day; for several, ``learn`` once."""
    return learn(Past(declared, history, away_on), on).forecast(on, offer_g)


def _start(past: Past) -> tuple[Sequence[float], float]:
    """Where learning starts: the declared week, put right by what its kind usually has of what
    it declares; the kind's week where nothing was declared."""
    declared, kind = past.declared, past.kind
    if kind is None:
        return [float(amount_g) for amount_g in declared.by_weekday_g], declared.spread_share
    if not any(declared.by_weekday_g):
        return kind.by_weekday_g, kind.spread_share
    scaled = [amount_g * kind.of_declared for amount_g in declared.by_weekday_g]
    return scaled, max(declared.spread_share, kind.spread_share)


def _from_offer(on: date, offer_g: int, kept_shares: Sequence[float]) -> Forecast:
    if len(kept_shares) < LEAST_KEPT:
        return Forecast(on, offer_g, offer_g, offer_g, Basis.OFFER)
    kept = sorted(min(share, 2.0) for share in kept_shares)
    low_g, middle_g, high_g = (
        round(offer_g * kept[round(share * (len(kept) - 1))]) for share in (LOW, 0.5, HIGH)
    )
    return Forecast(on, low_g, middle_g, high_g, Basis.OFFER, len(kept))


def _spread(on: date, mean_g: float, spread_share: float) -> Forecast:
    deviation_g = _Z * spread_share * mean_g
    return Forecast(
        on=on,
        p20_g=max(0, round(mean_g - deviation_g)),
        p50_g=round(mean_g),
        p80_g=round(mean_g + deviation_g),
        basis=Basis.DECLARED,
    )
