"""What is wrong with a problem, in sentences a person can act on.

`check_problem` looks at each thing by itself; `pins.find_pins_to_lift` at pins together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields

from apps.planning.core.problem import PPM, Batch, Digester, Pair, Pin, Placement, Problem

MAX_DAYS = 31
"""Days a plan may look ahead: a ruling of ours, nobody knows supply further."""
MAX_BATCHES = 2_000
"""Batches that one source may have: a stall has a few a day (a ruling of ours); a thousand from
one source already take as long as all others of a small town."""
MAX_GRAMS = 10**9
"""A thousand tonnes: beyond it a figure is a slip of the pen (a ruling of ours)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong. `where`: kind and code, as 'pin B7 to D3 on day 2'."""

    where: str
    message: str

    def __str__(self) -> str:
        return f"{self.where}: {self.message}"


class ProblemError(ValueError):
    """The problem cannot be planned. `pins_to_lift`: the fewest pins whose lifting helps,
    when only pins stand in the way."""

    def __init__(self, faults: Iterable[Fault], pins_to_lift: Iterable[Pin] = ()) -> None:
        self.faults = tuple(faults)
        self.pins_to_lift = tuple(pins_to_lift)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def check_problem(problem: Problem) -> tuple[Fault, ...]:
    """All faults, in the order of the problem's parts; empty when it can be planned
    (pins may still contradict each other together)."""
    faults = list(_check_frame(problem))
    if faults:
        return tuple(faults)
    faults += _check_numbers(problem)
    if faults:
        return tuple(faults)
    faults += _check_codes(problem)
    if faults:
        return tuple(faults)
    for digester in problem.digesters:
        faults += _check_digester(problem, digester)
    for batch in problem.batches:
        faults += _check_batch(batch)
    for pair in problem.pairs:
        if len(pair.meets_on_day) != problem.days:
            faults.append(
                Fault(
                    f"pair {pair.source} and {pair.digester}",
                    f"meets_on_day has {len(pair.meets_on_day)} entries for {problem.days} days.",
                )
            )
    faults += _check_started(problem)
    if not faults:
        faults += _check_pins(problem)
    return tuple(faults)


def _check_frame(problem: Problem) -> Iterator[Fault]:
    days = problem.days
    if not _is_whole(days) or not 1 <= days <= MAX_DAYS:
        yield Fault("problem", f"days is {days!r}; it must be a whole number from 1 to {MAX_DAYS}.")
    for source, count in sorted(Counter(map(_source_of, problem.batches)).items()):
        if count > MAX_BATCHES:
            yield Fault(
                f"source {source}",
                f"has {count:,} batches in these days; at most {MAX_BATCHES:,} can be planned. "
                "Put waste of one kind and day together as one batch.",
            )


def _source_of(batch: Batch) -> str:
    return str(batch.source)


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


MAY_BE_NEGATIVE = frozenset({"ready_day"})
MAY_BE_NONE = frozenset({"waited_days", "amount_g", "day", "change_budget", "low_g", "high_g"})
NOT_NUMBERS = frozenset(
    {
        "code",
        "source",
        "digester",
        "batch",
        "material",
        "group",
        "basis",
        "share_groups",
        "accepts",
        "divisible",
        "steady",
        "meets_on_day",
        "caps",
        "share_caps",
        "own_waste",
        "stock",
    }
)


def _check_numbers(problem: Problem) -> Iterator[Fault]:  # noqa: PLR0912
    yield from _whole_numbers(problem.rules, "rules")
    for material in problem.materials:
        yield from _whole_numbers(material, f"material {material.code}")
    for digester in problem.digesters:
        name = f"digester {digester.code}"
        yield from _whole_numbers(digester, name)
        for day, cap in enumerate(digester.caps):
            yield from _whole_numbers(cap, f"{name}, day {day}")
        for share in digester.share_caps:
            yield from _whole_numbers(share, f"{name}, share of {share.group}")
        for own in digester.own_waste:
            yield from _whole_numbers(own, f"{name}, own waste")
        for lot in digester.stock:
            yield from _whole_numbers(lot, f"{name}, stock {lot.code}")
    for source in problem.sources:
        yield from _whole_numbers(source, f"source {source.code}")
    for batch in problem.batches:
        yield from _whole_numbers(batch, f"batch {batch.code}")
    for pair in problem.pairs:
        yield from _whole_numbers(pair, f"pair {pair.source} and {pair.digester}")
    for pin in problem.pins:
        yield from _whole_numbers(pin, name_pin(pin))
    for ban in problem.bans:
        yield from _whole_numbers(ban, f"ban of {ban.source} and {ban.digester}")
    for kind in ("started", "previous"):
        for placement in getattr(problem, kind):
            yield from _whole_numbers(placement, f"{kind} {placement.batch}")


_NUMBER_FIELDS: dict[type, tuple[str, ...]] = {}


def _whole_numbers(thing: object, where: str) -> Iterator[Fault]:
    kind = type(thing)
    names = _NUMBER_FIELDS.get(kind)
    if names is None:
        names = tuple(f.name for f in fields(kind) if f.name not in NOT_NUMBERS)  # type: ignore[arg-type]
        _NUMBER_FIELDS[kind] = names
    for name in names:
        value = getattr(thing, name)
        entries = value if isinstance(value, tuple) else (value,)
        for entry in entries:
            if entry is None and name in MAY_BE_NONE:
                continue
            if not _is_whole(entry):
                yield Fault(where, f"{name} is {entry!r}; it must be a whole number.")
            elif entry < 0 and name not in MAY_BE_NEGATIVE:
                yield Fault(where, f"{name} is {entry}; it must not be negative.")
            elif entry > MAX_GRAMS:
                yield Fault(where, f"{name} is {entry}; the most that is believed is {MAX_GRAMS}.")


def _check_codes(problem: Problem) -> Iterator[Fault]:  # noqa: PLR0912
    for kind in ("materials", "digesters", "sources", "batches"):
        for code, count in Counter(item.code for item in getattr(problem, kind)).items():
            if count > 1:
                yield Fault(f"{kind} {code}", f"the code is used {count} times; it must be once.")
            if not isinstance(code, str) or not code:
                yield Fault(f"{kind}", f"{code!r} is no code.")
    for pair_key, count in Counter((p.source, p.digester) for p in problem.pairs).items():
        if count > 1:
            yield Fault(f"pair {pair_key[0]} and {pair_key[1]}", f"is listed {count} times.")
    materials = {m.code for m in problem.materials}
    digesters = {d.code for d in problem.digesters}
    sources = {s.code for s in problem.sources}
    batches = {b.code for b in problem.batches}

    def known(value: str, among: set[str], where: str, kind: str) -> Iterator[Fault]:
        if value not in among:
            yield Fault(where, f"{kind} {value!r} is not in the problem.")

    for batch in problem.batches:
        yield from known(batch.source, sources, f"batch {batch.code}", "source")
        yield from known(batch.material, materials, f"batch {batch.code}", "material")
    for digester in problem.digesters:
        where = f"digester {digester.code}"
        for own in digester.own_waste:
            yield from known(own.material, materials, f"{where}, own waste", "material")
        for lot in digester.stock:
            yield from known(lot.material, materials, f"{where}, stock {lot.code}", "material")
            if lot.code in batches:
                yield Fault(where, f"stock {lot.code} has the code of a batch.")
        if len({lot.code for lot in digester.stock}) < len(digester.stock):
            yield Fault(where, "two stock lots have the same code.")
    for pair in problem.pairs:
        where = f"pair {pair.source} and {pair.digester}"
        yield from known(pair.source, sources, where, "source")
        yield from known(pair.digester, digesters, where, "digester")
    for pin in problem.pins:
        yield from known(pin.batch, batches, name_pin(pin), "batch")
        yield from known(pin.digester, digesters, name_pin(pin), "digester")
    for ban in problem.bans:
        where = f"ban of {ban.source} and {ban.digester}"
        yield from known(ban.source, sources, where, "source")
        yield from known(ban.digester, digesters, where, "digester")
    for placement in problem.started:
        where = f"started pickup of {placement.batch}"
        yield from known(placement.batch, batches, where, "batch")
        yield from known(placement.digester, digesters, where, "digester")


def _check_digester(problem: Problem, digester: Digester) -> Iterator[Fault]:
    where = f"digester {digester.code}"
    for name in ("caps", "target_vs_g"):
        count = len(getattr(digester, name))
        if count != problem.days:
            yield Fault(where, f"{name} has {count} entries for {problem.days} days.")
    for own in digester.own_waste:
        if not own.day < problem.days:
            yield Fault(where, f"own waste is on day {own.day} of {problem.days}.")
    for cap in digester.share_caps:
        if cap.basis not in ("vs", "mass"):
            yield Fault(where, f"the share of {cap.group} is by {cap.basis!r}; use vs or mass.")
        if cap.share_ppm > PPM:
            yield Fault(where, f"the share of {cap.group} is {cap.share_ppm} ppm, above the whole.")
    counted = Counter((cap.group, cap.basis) for cap in digester.share_caps)
    for (group, basis), count in counted.items():
        if count > 1:
            yield Fault(where, f"the share of {group} by {basis} is capped {count} times.")


def _check_batch(batch: Batch) -> Iterator[Fault]:
    where = f"batch {batch.code}"
    if batch.collect_by_day < batch.ready_day:
        yield Fault(
            where,
            f"must be collected by day {batch.collect_by_day} but is ready on {batch.ready_day}.",
        )
    if batch.feed_by_day < batch.ready_day:
        yield Fault(
            where, f"must be fed by day {batch.feed_by_day} but is ready on {batch.ready_day}."
        )

    low_g, high_g = (
        batch.amount_g if each is None else each for each in (batch.low_g, batch.high_g)
    )
    if not low_g <= batch.amount_g <= high_g:
        yield Fault(
            where,
            f"is expected to have {batch.amount_g} g, which is not between the low figure of "
            f"{low_g} g and the high one of {high_g} g.",
        )


def _check_started(problem: Problem) -> Iterator[Fault]:
    batches = {b.code: b for b in problem.batches}
    total: Counter[str] = Counter()
    for placement in problem.started:
        where = f"started pickup of {placement.batch} to {placement.digester}"
        batch = batches[placement.batch]
        total[placement.batch] += placement.amount_g
        if not placement.day < problem.days:
            yield Fault(where, f"is on day {placement.day} of {problem.days}.")
        elif placement.day > batch.feed_by_day:
            yield Fault(where, f"comes after day {batch.feed_by_day}, the last to feed it.")
    for code, grams in sorted(total.items()):
        if grams > batches[code].amount_g:
            yield Fault(
                f"batch {code}",
                f"started pickups carry {grams} g of its {batches[code].amount_g} g.",
            )


def _check_pins(problem: Problem) -> Iterator[Fault]:
    batches = {b.code: b for b in problem.batches}
    digesters = {d.code: d for d in problem.digesters}
    pairs = {(p.source, p.digester): p for p in problem.pairs}
    begun = {(p.batch, p.digester, p.day) for p in problem.started}
    bans = {(b.source, b.digester, b.day) for b in problem.bans}
    for key, count in Counter((p.batch, p.digester, p.day) for p in problem.pins).items():
        if count > 1:
            yield Fault(f"pin {key[0]} to {key[1]} on day {key[2]}", f"is given {count} times.")
    for pin in problem.pins:
        if (pin.batch, pin.digester, pin.day) in begun:
            continue
        message = _why_pin_fails(
            pin,
            batches[pin.batch],
            digesters[pin.digester],
            pairs.get((batches[pin.batch].source, pin.digester)),
            bans,
            problem.days,
        )
        if message:
            yield Fault(name_pin(pin), f"{message} Lift this pin.")


def _why_pin_fails(  # noqa: PLR0911, PLR0912
    pin: Pin,
    batch: Batch,
    digester: Digester,
    pair: Pair | None,
    bans: set[tuple[str, str, int | None]],
    days: int,
) -> str:
    """The first thing that makes a single pin impossible, or nothing."""
    if pair is None:
        return f"{batch.source} is out of reach of {digester.code}."
    if not batch.ready_day <= pin.day <= min(batch.collect_by_day, days - 1):
        return f"the batch is there from day {batch.ready_day} to {batch.collect_by_day}."
    if pin.day > batch.feed_by_day:
        return f"the batch must be fed by day {batch.feed_by_day}."
    if not pair.meets_on_day[pin.day]:
        return "the hours of the two do not meet on that day."
    if batch.material not in digester.accepts:
        return f"{digester.code} does not accept {batch.material}."
    for day in (pin.day, None):
        if (batch.source, digester.code, day) in bans:
            return f"{batch.source} is banned from {digester.code}."
    amount = pin.amount_g
    if amount is None:
        amount = batch.amount_g
        if batch.divisible:
            amount = min(amount, digester.min_pickup_g)
    if amount > batch.amount_g:
        return f"{amount} g are pinned but the batch has {batch.amount_g} g."
    if amount == 0:
        return "0 g are pinned; ban the pair instead."
    if not batch.divisible and amount != batch.amount_g:
        return f"the batch goes whole, {batch.amount_g} g, but {amount} g are pinned."
    if amount > digester.carry_limit_g:
        return f"{amount} g are more than the {digester.carry_limit_g} g one can carry."
    return ""


def name_pin(pin: Pin | Placement) -> str:
    return f"pin {pin.batch} to {pin.digester} on day {pin.day}"
