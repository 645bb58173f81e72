"""A household's own measures: pails and jugs, counted in wholes and halves."""

from dataclasses import dataclass

from apps.kernel.figures import FigureError, whole


@dataclass(frozen=True)
class Measure:
    """A vessel at the home, e.g. ``Measure("pail", 10_000)``."""

    name: str
    volume_ml: int

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise FigureError("The measure has no name; say what the vessel is called.")
        whole(self.volume_ml, f"The volume of the {self.name}", "millilitres", low=50, high=300_000)


@dataclass(frozen=True)
class MeasureCount:
    """So many half measures."""

    measure: Measure
    halves: int

    @property
    def volume_ml(self) -> int:
        """What the count holds, rounded down to a whole millilitre."""
        return self.halves * self.measure.volume_ml // 2

    @property
    def count(self) -> str:
        """The count as people write it: ``"2"``, ``"½"``, ``"1½"``."""
        return count_words(self.halves)


def count_words(halves: int) -> str:
    """Half measures as people write them: 4 gives ``"2"``, 1 ``"½"``, 3 ``"1½"``."""
    wholes, half = divmod(halves, 2)
    if half:
        return f"{wholes}½" if wholes else "½"
    return str(wholes)


def count_down(volume_ml: float, measure: Measure) -> MeasureCount:
    """The most half measures that do not exceed ``volume_ml``."""
    return MeasureCount(measure, int(volume_ml * 2 // measure.volume_ml))


def count_nearest(volume_ml: float, measure: Measure) -> MeasureCount:
    """The number of half measures nearest to ``volume_ml``; a tie goes to the lower."""
    down = count_down(volume_ml, measure)
    rest_ml = volume_ml - down.halves * measure.volume_ml / 2
    return MeasureCount(measure, down.halves + (rest_ml > measure.volume_ml / 4))
