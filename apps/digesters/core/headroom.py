"""How much a digester may still take on a day, and why: the one answer for plans and pages."""

from collections.abc import Sequence
from dataclasses import dataclass

from apps.digesters.core.day_limits import DayLimits, Limit
from apps.digesters.core.facts import QUANTITIES
from apps.digesters.core.share_caps import ShareCap
from apps.feedstock.core.feeds import PPM, SOLIDS_TARGET, feed_coefficients
from apps.feedstock.core.mixing import Portion
from apps.feedstock.core.risk_groups import RISK_GROUP_NAMES
from apps.kernel.figures import FigureError, whole
from apps.kernel.sentences import Sentence, gettext_noop

_SHARE = gettext_noop("At most %(share)s %% of a day's feed may be %(group)s.")
_REFUSED = gettext_noop("Not brought to digesters here: %(group)s.")


@dataclass(frozen=True)
class Load:
    """What some feed brings to a digester's limits."""

    feed_g: int = 0
    vs_g: int = 0
    slurry_ml: int = 0

    def __post_init__(self) -> None:
        for quantity in QUANTITIES:
            whole(getattr(self, quantity), f"A load's {quantity}", "units")

    def __add__(self, other: "Load") -> "Load":
        return Load(
            self.feed_g + other.feed_g,
            self.vs_g + other.vs_g,
            self.slurry_ml + other.slurry_ml,
        )


def load_of(portions: Sequence[Portion], solids_target: float = SOLIDS_TARGET) -> Load:
    """The load of ``portions``; volatile solids and slurry rounded up."""
    vs_ppm = slurry_ppm = feed_g = 0
    for portion in portions:
        per_gram = feed_coefficients(portion.material, solids_target)
        feed_g += portion.amount_g
        vs_ppm += portion.amount_g * per_gram.vs_ppm
        slurry_ppm += portion.amount_g * per_gram.slurry_ppm
    return Load(feed_g, -(-vs_ppm // PPM), -(-slurry_ppm // PPM))


@dataclass(frozen=True)
class Claims:
    """What already stands against a digester-day: own kitchen waste (it goes first), what is
    fed from the bin that day, and what is promised to it."""

    own_kitchen: tuple[Portion, ...] = ()
    from_bin: tuple[Portion, ...] = ()
    promised: tuple[Portion, ...] = ()
    solids_target: float = SOLIDS_TARGET


@dataclass(frozen=True)
class Room:
    """What is left under the three maxima, never below zero, and the limit behind each."""

    feed_g: int
    vs_g: int
    slurry_ml: int
    limits: tuple[Limit, Limit, Limit]

    def amount_g(self, per_million_g: Load) -> tuple[int, Limit]:
        """Most grams of a feed whose 10^6 g bring ``per_million_g``, and the limit that binds."""
        left = (self.feed_g, self.vs_g, self.slurry_ml)
        costs = (per_million_g.feed_g, per_million_g.vs_g, per_million_g.slurry_ml)
        amount, index = min(
            (room * PPM // cost, index)
            for index, (room, cost) in enumerate(zip(left, costs, strict=True))
            if cost
        )
        return amount, self.limits[index]


def headroom(limits: DayLimits, claims: Claims, *, planning: bool = False) -> Room:
    """What may still be taken after own kitchen waste and bin.

    ``planning`` starts from what a plan may fill instead of from the maximum.
    """
    before = (*claims.own_kitchen, *claims.from_bin)
    return _room(limits, load_of(before, claims.solids_target), planning)


def spare_capacity(limits: DayLimits, claims: Claims, *, planning: bool = False) -> Room:
    """Headroom less what is promised."""
    before = (*claims.own_kitchen, *claims.from_bin, *claims.promised)
    return _room(limits, load_of(before, claims.solids_target), planning)


def _room(limits: DayLimits, taken: Load, planning: bool) -> Room:
    binding = tuple(limits.binding(quantity) for quantity in QUANTITIES)
    left = [
        max(
            0,
            (limits.planned_cap(limit.quantity) if planning else limit.value)
            - int(getattr(taken, limit.quantity)),
        )
        for limit in binding
    ]
    return Room(left[0], left[1], left[2], (binding[0], binding[1], binding[2]))


@dataclass(frozen=True)
class Answer:
    """How much of one mix a digester may take on a day, and why not more."""

    headroom_g: int
    spare_g: int
    rule_id: str
    sentence: Sentence
    source: str
    evidence: str


def answer_how_much(
    limits: DayLimits, claims: Claims, mix: Sequence[Portion], *, planning: bool = False
) -> Answer:
    """How many grams of ``mix`` (amounts give its proportions) the digester may take, and why.

    ``headroom_g`` leaves what is promised out of account; ``spare_g`` takes it off; the rule is
    the one behind ``spare_g``. Share caps count own kitchen waste, bin and promises.
    """
    mix_g = sum(portion.amount_g for portion in mix)
    if not mix_g:
        raise FigureError("The mix is empty; name at least one material with its grams.")
    refused = [
        (portion.material.code, group)
        for portion in mix
        if portion.amount_g
        for group in portion.material.groups
        if group in limits.refused_groups
    ]
    if refused:
        _, group = refused[0]
        return Answer(
            0, 0, f"refused_{group}", Sentence(_REFUSED, {"group": RISK_GROUP_NAMES[group]}),
            gettext_noop("The group's choice; safety rules for what is never fed"), "practice",
        )  # fmt: skip
    per_million = _per_million(mix, mix_g, claims.solids_target)
    before = (*claims.own_kitchen, *claims.from_bin)
    head_g, _, _ = _most(
        headroom(limits, claims, planning=planning), limits.share_caps, per_million, mix, before
    )
    spare_g, limit, cap = _most(
        spare_capacity(limits, claims, planning=planning),
        limits.share_caps,
        per_million,
        mix,
        (*before, *claims.promised),
    )
    # What is promised may widen a share, so that more fits with it than without.
    head_g = max(head_g, spare_g)
    if cap is not None:
        sentence = Sentence(
            _SHARE, {"share": f"{cap.share_ppm / 10_000:g}", "group": RISK_GROUP_NAMES[cap.group]}
        )
        return Answer(head_g, spare_g, cap.rule_id, sentence, cap.source, "assumed")
    return Answer(head_g, spare_g, limit.rule_id, limit.sentence, limit.source, limit.evidence)


def _per_million(mix: Sequence[Portion], mix_g: int, solids_target: float) -> Load:
    # Rounded up, so that the answer errs on the safe side.
    vs_ppm = slurry_ppm = 0
    for portion in mix:
        per_gram = feed_coefficients(portion.material, solids_target)
        vs_ppm += portion.amount_g * per_gram.vs_ppm
        slurry_ppm += portion.amount_g * per_gram.slurry_ppm
    return Load(PPM, -(-vs_ppm // mix_g), -(-slurry_ppm // mix_g))


def _most(
    room: Room,
    caps: Sequence[ShareCap],
    per_million: Load,
    mix: Sequence[Portion],
    before: Sequence[Portion],
) -> tuple[int, Limit, ShareCap | None]:
    amount_g, limit = room.amount_g(per_million)
    binding: ShareCap | None = None
    mix_g = sum(portion.amount_g for portion in mix)
    for cap in caps:
        # Largest k with  part0 + k part <= share (total0 + k total).
        part, total = _measured(mix, cap)
        part0, total0 = _measured(before, cap)
        excess = part * PPM - cap.share_ppm * total
        if excess <= 0:
            continue
        allowed_g = max(0, (cap.share_ppm * total0 - part0 * PPM) * mix_g // excess)
        if allowed_g < amount_g:
            amount_g, binding = allowed_g, cap
    return amount_g, limit, binding


def _measured(portions: Sequence[Portion], cap: ShareCap) -> tuple[int, int]:
    """The capped group's part and the total, in units of the cap's basis."""
    part = total = 0
    for portion in portions:
        weight = 1 if cap.basis == "mass" else feed_coefficients(portion.material).vs_ppm
        total += portion.amount_g * weight
        if cap.group in portion.material.groups:
            part += portion.amount_g * weight
    return part, total


def target_left_vs_g(limits: DayLimits, claims: Claims) -> int:
    """g VS still wanted up to the day's target after own kitchen waste and bin; never negative."""
    return max(0, limits.target_vs_g - _before_vs_g(claims))


def minimum_left_vs_g(days: Sequence[tuple[DayLimits, Claims]]) -> int:
    """g VS still wanted up to the minimum over ``days`` together, usually seven.

    A tank of forty days does not starve on one of them, so what one day has over its part
    counts for the others.
    """
    wanted_g = sum(limits.min_vs_g for limits, _ in days)
    return max(0, wanted_g - sum(_before_vs_g(claims) for _, claims in days))


def _before_vs_g(claims: Claims) -> int:
    return load_of((*claims.own_kitchen, *claims.from_bin), claims.solids_target).vs_g
