"""The planning problem: what a group has, what its digesters may take, for the next few days.

Pure data. Every amount is a whole number in the unit its name carries; days are indices
from 0, day 0 being `Problem.starts_on`. Coefficients per unit of fresh mass are parts per
million (ppm), so that `grams * ppm` is exact. Everything order-dependent sorts by code.

What a plan may never do (hard limits):

1.  A batch is collected on a day from `ready_day` to `collect_by_day`, and what was
    collected is fed on a day from its collection to `feed_by_day`, inside the horizon: all
    that is collected is fed.
2.  Collected and unplaced grams of a batch never exceed its `amount_g`; a batch that is not
    `divisible` goes whole to one digester on one day, or nowhere (it may be fed over several
    days).
3.  Each digester-day: the sum of fed grams, of fed `grams * vs_ppm` and of fed
    `grams * slurry_ppm` stay within `DayCaps` (own kitchen waste is already taken off).
    Grams count times the pair's `usable_ppm` here and in 4 and 5; stock counts whole.
4.  Each digester-day and share cap: the capped group's part of all that is fed that day,
    own kitchen waste included, stays within `share_ppm`, by VS or by mass. On a day on which
    own kitchen waste alone passes the cap the plan feeds nothing of that group.
5.  Bin: what was left from yesterday plus what arrives today, before today's feeding, never
    exceeds `bin_g`, even if every batch brings its `high_g`: grams of a batch count times its
    `high_ppm`. Stock counts until it is fed or its `feed_by_day` is over. On a day on which
    the unfed stock could by itself exceed `bin_g` nothing may be in the bin beside it.
6.  A visit (source, digester, day) carries between `min_pickup_g` and `carry_limit_g`; a
    digester makes at most `max_visits_per_day`, a source serves at most
    `max_homes_per_day`; a visit that carries an indivisible batch is exempt from
    `min_pickup_g`. What goes of a batch to one digester on one day is at least
    `Rules.smallest_part_g` (or `min_pickup_g` where that is less), or all of the batch.
7.  Only pairs listed in `pairs` are in reach, only on days on which `meets_on_day` is true
    (hours of both ends meet), and only materials that the digester accepts.
8.  Pins and started pickups are kept, bans are respected. A started pickup is a fact: 6, 7
    and bans do not forbid it (its visit counts to the limits for others), 1 to 5 do.

Wishes, in this order (see `result.WISHES`): the seven-day minimum of everybody; sources that
would otherwise wait past the rota's limit; in a re-plan the change budget; the shortfall below
target in convex pieces; grams placed; carrying (gram-metres) and trips; steady pairs; fair
shares. Minimum and shortfall count of a batch only what surely comes: grams times `sure_ppm`.
A day's feed is in grams and under its maximum, so that more waste than expected waits in the
bin, which has room for it, and is planned the next evening or goes where left-overs go.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

PPM = 1_000_000

TRIP_G_M = 50_000
"""What a trip costs beside its load, in gram-metres (1 kg over 50 m). A ruling of ours, by 45
rehearsed spring days of 18 homes: 200,000 made 765 walks of 154 m a kilogram, this 891 of 150 m
and none 1,018 of 148 m. In a year of an earlier plan 1,000,000 made 119 m of 103 m at 200,000."""


@dataclass(frozen=True, slots=True)
class Material:
    """One kind of waste. `vs_ppm`: grams of volatile solids per 10^6 g fresh; `slurry_ppm`:
    millilitres of slurry, water included, per 10^6 g fresh; `share_groups`: caps it counts to."""

    code: str
    vs_ppm: int
    slurry_ppm: int
    share_groups: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DayCaps:
    """What a plan may add on one digester-day (planning fill applied, own waste taken off)."""

    feed_g: int
    vs_g: int
    slurry_ml: int


@dataclass(frozen=True, slots=True)
class ShareCap:
    """`group` may be at most `share_ppm` of the day's feed, by `basis` 'vs' or 'mass'."""

    group: str
    share_ppm: int
    basis: str = "vs"


@dataclass(frozen=True, slots=True)
class OwnWaste:
    """Own kitchen waste fed on one day, in grams of one material; it goes first."""

    day: int
    material: str
    amount_g: int


@dataclass(frozen=True, slots=True)
class StockLot:
    """Waste already in the digester's bin at the start, to be fed by `feed_by_day`."""

    code: str
    material: str
    amount_g: int
    feed_by_day: int


@dataclass(frozen=True, slots=True)
class Digester:
    """One digester as the planner sees it; per-day tuples have one entry a day."""

    code: str
    caps: tuple[DayCaps, ...]
    target_vs_g: tuple[int, ...]
    min_vs_g: int
    """VS the plan should add over the whole horizon at least; 0 while suspended."""
    bin_g: int
    accepts: frozenset[str]
    max_visits_per_day: int = 3
    carry_limit_g: int = 15_000
    min_pickup_g: int = 500
    share_caps: tuple[ShareCap, ...] = ()
    own_waste: tuple[OwnWaste, ...] = ()
    stock: tuple[StockLot, ...] = ()
    recent_fill_ppm: int = PPM
    """What it got over the last 28 days against its target; below PPM it is owed."""


@dataclass(frozen=True, slots=True)
class Source:
    """One source. `waited_days`: days since somebody last came, None when nobody ever did."""

    code: str
    max_homes_per_day: int = 2
    waited_days: int | None = 0


@dataclass(frozen=True, slots=True)
class Batch:
    """What one stream has on one day. `code` is unique in the problem. `low_g` surely comes and
    more than `high_g` hardly does; None where that is the amount itself."""

    code: str
    source: str
    material: str
    amount_g: int
    ready_day: int
    collect_by_day: int
    feed_by_day: int
    divisible: bool = True
    low_g: int | None = None
    high_g: int | None = None

    @property
    def sure_ppm(self) -> int:
        """What surely comes of each gram, rounded down."""
        if self.low_g is None or not self.amount_g:
            return PPM
        return self.low_g * PPM // self.amount_g

    @property
    def high_ppm(self) -> int:
        """What may come of each gram, rounded up."""
        if self.high_g is None or not self.amount_g:
            return PPM
        return -(-self.high_g * PPM // self.amount_g)


@dataclass(frozen=True, slots=True)
class Pair:
    """A source and a digester within reach of each other.

    `usable_ppm`: the part of what is collected that this home feeds (the rest is trimmed off);
    it scales the load on caps and bin, never the grams collected.
    """

    source: str
    digester: str
    distance_m: int
    meets_on_day: tuple[bool, ...]
    steady: bool = False
    usable_ppm: int = PPM


@dataclass(frozen=True, slots=True)
class Pin:
    """The assigner's wish kept as a rule: this batch to this digester on this day.
    `amount_g` None leaves the amount to the plan (at least the smallest pickup)."""

    batch: str
    digester: str
    day: int
    amount_g: int | None = None


@dataclass(frozen=True, slots=True)
class Ban:
    """Never this source to this digester, on `day` or, when None, on any day."""

    source: str
    digester: str
    day: int | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """Grams of one batch to one digester on one day (started, previous or resulting)."""

    batch: str
    digester: str
    day: int
    amount_g: int


@dataclass(frozen=True, slots=True)
class Rules:
    """The group's own planning choices."""

    rota_limit_days: int = 14
    """In a glut no source waits longer than this for a visit."""
    change_budget: int | None = None
    """In a re-plan: how many (source, digester, day) pickups may appear or vanish."""
    smallest_part_g: int = 0
    """Less of a batch than this is not sent to a home beside other batches; 0 for no such rule."""
    smallest_portion_g: int = 0
    """Less of a material than this, own kitchen waste of it counted, is not fed on a day where
    the plan can do without: it is fed on another day, or left over where nobody lacks it for
    minimum or target; 0 for no such rule."""
    trip_g_m: int = TRIP_G_M
    """What each visit adds to the carrying wish."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A whole planning problem; `check_problem` tells what is wrong with one."""

    starts_on: date
    days: int
    materials: tuple[Material, ...]
    digesters: tuple[Digester, ...]
    sources: tuple[Source, ...]
    batches: tuple[Batch, ...]
    pairs: tuple[Pair, ...]
    pins: tuple[Pin, ...] = ()
    bans: tuple[Ban, ...] = ()
    started: tuple[Placement, ...] = ()
    previous: tuple[Placement, ...] = ()
    """The announced plan that this one replaces; empty for a first plan."""
    rules: Rules = field(default_factory=Rules)
