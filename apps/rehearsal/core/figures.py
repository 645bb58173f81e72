"""What a rehearsed year comes to, and beside what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from apps.rehearsal.core.bound import Bound, JudgedDay, is_inside
from apps.rehearsal.core.day import SOUR_PH, DayRow
from apps.rehearsal.core.world import World

SOUND_PH = 6.8


@dataclass(frozen=True, slots=True)
class Figures:
    """One policy's year: days inside the feed range, above, below; grams fetched and fed, left
    to spoil; gram-metres; digesters that soured; days under pH 6.8; cooking gas [L methane];
    days on which a plan's own feed passed the maximum stored with it."""

    days: int
    days_inside: int
    days_above: int
    days_below: int
    placed_g: int
    spoiled_g: int
    carried_g_m: int
    walks: int
    soured: int
    days_under_68: int
    methane_l: int
    above_stored: int

    @property
    def metres_per_gram(self) -> float:
        """Mean metres of what was placed."""
        return self.carried_g_m / self.placed_g if self.placed_g else 0.0


def sum_year(
    world: World, judged: list[list[JudgedDay]], rows: Sequence[DayRow], above_stored: int
) -> Figures:
    """Add up the days."""
    homes = range(len(world.hood.homes))
    inside = above = below = soured = under = 0
    for home in homes:
        fed = [float(row.fed_vs_g[home]) for row in rows]
        is_sour = False
        for day, row in enumerate(rows):
            if is_inside(judged[home], fed, fed, day):
                inside += 1
            elif fed[day] > judged[home][day].max_vs_g + 1:
                above += 1
            else:
                below += 1
            ph = row.ph[home]
            under += ph < SOUND_PH
            if ph < SOUR_PH and not is_sour:
                is_sour, soured = True, soured + 1
            elif ph >= SOUND_PH:
                is_sour = False
    return Figures(
        days=len(rows) * len(homes),
        days_inside=inside,
        days_above=above,
        days_below=below,
        placed_g=sum(sum(row.fetched_fed_g) for row in rows),
        spoiled_g=sum(row.spoiled_g for row in rows),
        carried_g_m=sum(row.carried_g_m for row in rows),
        walks=sum(row.walks for row in rows),
        soured=soured,
        days_under_68=under,
        methane_l=sum(sum(row.methane_l) for row in rows),
        above_stored=above_stored,
    )


def add_up(figures: Sequence[Figures]) -> Figures:
    """Several years together."""
    rows = [asdict(each) for each in figures]
    return Figures(**{name: sum(row[name] for row in rows) for name in rows[0]})


@dataclass(frozen=True, slots=True)
class Compared:
    """A target, what was reached, and whether that is enough."""

    name: str
    wanted: str
    reached: str
    is_reached: bool


def compare(ours: Figures, by_hand: Figures, bound: Bound) -> list[Compared]:
    """The targets of a rehearsed year."""
    inside = ours.days_inside / max(1, bound.days_inside)
    outside = (ours.days - ours.days_inside) / max(1, by_hand.days - by_hand.days_inside)
    placed = ours.placed_g / max(1, bound.placed_g)
    metres = ours.metres_per_gram / max(1e-9, bound.carried_g_m / max(1, bound.placed_g))
    soured = ours.soured / max(1, by_hand.soured)
    return [
        Compared("above_stored", "0", str(ours.above_stored), ours.above_stored == 0),
        Compared("days_inside_of_bound", ">= 0.95", f"{inside:.3f}", inside >= 0.95),
        Compared("days_outside_of_by_hand", "<= 0.5", f"{outside:.3f}", outside <= 0.5),
        Compared("placed_of_bound", ">= 0.97", f"{placed:.3f}", placed >= 0.97),
        Compared("metres_of_bound", "<= 1.15", f"{metres:.3f}", metres <= 1.15),
        Compared(
            "soured_of_by_hand",
            "<= 0.2",
            f"{soured:.3f} ({ours.soured} of {by_hand.soured})",
            soured <= 0.2 and by_hand.soured > 0,
        ),
    ]


def sum_weeks(
    world: World, judged: list[list[JudgedDay]], rows: Sequence[DayRow]
) -> list[dict[str, int]]:
    """By week: digester-days, those inside their range, grams of fetched waste fed."""
    weeks = []
    fed = [[float(row.fed_vs_g[home]) for row in rows] for home in range(len(judged))]
    for start in range(0, len(rows), 7):
        span = range(start, min(len(rows), start + 7))
        weeks.append(
            {
                "days": len(span) * len(judged),
                "inside": sum(
                    is_inside(judged[home], fed[home], fed[home], day)
                    for home in range(len(judged))
                    for day in span
                ),
                "placed_g": sum(sum(rows[day].fetched_fed_g) for day in span),
            }
        )
    return weeks
