"""What a digester was fed, as loading: OLR and HRT on its working volume."""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.kernel.figures import FigureError, whole
from apps.kernel.sentences import Sentence, gettext_noop

WINDOWS_DAYS = (1, 3, 7)

STABLE_FROM_DAYS, STABLE_TO_DAYS = 10, 4
"""The stable mean looks at the seven days from 10 to 4 days back. Centred a week back, it keeps
a rise of 15 % over it at 15 % a week; a mean of the last seven days would let it compound."""

PROVED_WEEKS = 4
"""Weeks back to which a proved level counts. Assumed."""

STABLE_MEDIAN_DAYS = 60
LEAST_FED_DAYS = 7

CN_LOW, CN_HIGH = 15.0, 35.0
"""Outside these a note is due, never a limit. FAO 1996 prefers 20-30 (from memory); 15 was best for
food waste with sludge (Siddiqui 2011) and ammonia trouble began at 15 with poultry (Wang 2014)."""

_CN_LOW = gettext_noop(
    "Carbon to nitrogen is %(cn)s: rich in nitrogen; watch for the smell of ammonia, add dry or "
    "starchy waste."
)
_CN_HIGH = gettext_noop(
    "Carbon to nitrogen is %(cn)s: poor in nitrogen; dung or greens help the bacteria."
)
_CN_FINE = gettext_noop("Carbon to nitrogen is %(cn)s.")
_CN_NONE = gettext_noop("No carbon to nitrogen is claimed: %(materials)s has no figure.")


@dataclass(frozen=True)
class FedDay:
    """All that went in on one local day."""

    on: date
    feed_g: int
    vs_g: int
    slurry_ml: int

    def __post_init__(self) -> None:
        whole(self.feed_g, f"The feed of {self.on}", "grams")
        whole(self.vs_g, f"The volatile solids of {self.on}", "grams")
        whole(self.slurry_ml, f"The slurry of {self.on}", "millilitres")


@dataclass(frozen=True)
class Loading:
    """Loading over ``days``; ``hrt_days`` is None when nothing was fed."""

    days: int
    olr_kg_vs_per_m3_day: float
    hrt_days: float | None


def find_loading(fed: Sequence[FedDay], on: date, days: int, working_volume_ml: int) -> Loading:
    """Loading of the ``days`` that end with ``on``; a day without record counts as not fed.

    OLR = kg VS / m3 / d and HRT = V / (L/d), both on the working volume (GTZ 1989 s. 4.5).
    """
    whole(days, "The window", "days", low=1)
    whole(working_volume_ml, "The working volume", "millilitres", low=1)
    within = [day for day in fed if on - timedelta(days=days) < day.on <= on]
    vs_g, slurry_ml = sum(day.vs_g for day in within), sum(day.slurry_ml for day in within)
    return Loading(
        days=days,
        # g/mL and kg/m3 differ by 1000: g VS / mL of tank / d is 1000 kg VS / m3 / d.
        olr_kg_vs_per_m3_day=vs_g * 1000 / working_volume_ml / days,
        hrt_days=working_volume_ml * days / slurry_ml if slurry_ml else None,
    )


def find_loadings(fed: Sequence[FedDay], on: date, working_volume_ml: int) -> tuple[Loading, ...]:
    """Loading over 1, 3 and 7 days that end with ``on``."""
    return tuple(find_loading(fed, on, days, working_volume_ml) for days in WINDOWS_DAYS)


def stable_mean_vs_g(fed: Sequence[FedDay], on: date) -> int | None:
    """Mean g VS a day from 10 to 4 days before ``on``, rounded down; None where the records do
    not reach back that far."""
    _refuse_double_days(fed)
    start, end = on - timedelta(days=STABLE_FROM_DAYS), on - timedelta(days=STABLE_TO_DAYS)
    if not any(day.on <= start for day in fed):
        return None
    return sum(day.vs_g for day in fed if start <= day.on <= end) // ((end - start).days + 1)


def proved_mean_vs_g(fed: Sequence[FedDay], on: date, loss_per_week: float) -> int | None:
    """What a digester has lately shown it can take, g VS a day: the largest of the stable means
    of ``on`` and of one to four weeks before, each less ``loss_per_week`` [%] for every week of
    feed it has missed since: a week without any counts whole, a week at nine tenths a tenth.
    A week of little waste is no reason to rise again from there, and a tank that is fed a
    little under its level keeps it; without this it is let down step by step."""
    means_g: list[int] = []
    for weeks in range(PROVED_WEEKS + 1):
        mean_g = stable_mean_vs_g(fed, on - timedelta(weeks=weeks))
        if mean_g is None:
            break
        means_g.append(mean_g)
    levels = [
        int(mean_g - loss_per_week / 100 * sum(max(0, mean_g - since) for since in means_g[:age]))
        for age, mean_g in enumerate(means_g)
    ]
    return max(0, *levels) if levels else None


def stable_median_vs_g(fed: Sequence[FedDay], on: date) -> int | None:
    """Median g VS of the days fed within the 60 before ``on``, rounded down; None under seven."""
    _refuse_double_days(fed)
    start = on - timedelta(days=STABLE_MEDIAN_DAYS)
    fed_vs_g = [day.vs_g for day in fed if start <= day.on < on and day.vs_g]
    return int(statistics.median(fed_vs_g)) if len(fed_vs_g) >= LEAST_FED_DAYS else None


def idle_weeks(fed: Sequence[FedDay], on: date) -> int:
    """Whole weeks since anything was fed before ``on``; 0 without any record."""
    last = max((day.on for day in fed if day.feed_g and day.on < on), default=None)
    return 0 if last is None else (on - last).days // 7


def note_cn_ratio(cn_ratio: float | None, without_carbon: Sequence[str] = ()) -> Sentence:
    """What to say about a mix's C:N (see ``mixing.Mix``): a note, never a limit."""
    if cn_ratio is None:
        return Sentence(_CN_NONE, {"materials": ", ".join(without_carbon) or "the feed"})
    template = _CN_LOW if cn_ratio < CN_LOW else _CN_HIGH if cn_ratio > CN_HIGH else _CN_FINE
    return Sentence(template, {"cn": f"{cn_ratio:.0f}"})


def _refuse_double_days(fed: Sequence[FedDay]) -> None:
    seen: set[date] = set()
    for day in fed:
        if day.on in seen:
            raise FigureError(f"{day.on} is given twice; add up what was fed that day first.")
        seen.add(day.on)
