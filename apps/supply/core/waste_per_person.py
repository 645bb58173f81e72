"""What people throw away, for a first guess before anything is weighed."""

from apps.kernel.figures import Figure, finite, whole

HOUSEHOLD_FOOD_WASTE = Figure(
    79 / 365.25,
    "kg a person and day",
    "UNEP Food Waste Index 2024: 79 kg a person and year in households, world, 2022",
    "read",
    low=55 / 365.25,
    high=88 / 365.25,
)


def waste_per_person_kg(total_kg: float, people: int) -> float:
    """kg a person, of a survey's total."""
    finite(total_kg, "The waste", "kg")
    whole(people, "The people surveyed", "people", low=1)
    return total_kg / people


def part_kg(total_kg: float, share: float) -> float:
    """The part of a survey's total with ``share`` (0..1), e.g. its food waste."""
    finite(total_kg, "The waste", "kg")
    finite(share, "The share", "of 1", high=1.0)
    return total_kg * share


def guess_household_g(people: int) -> int:
    """Kitchen waste of a household [g/d] until it is weighed, rounded down."""
    whole(people, "The household", "people")
    return int(people * HOUSEHOLD_FOOD_WASTE.value * 1000)
