"""A street one can check by hand: places 0 to 9 on a line, 100 m and 100 s apart."""

from __future__ import annotations

from apps.rounds.core.problem import Carrier, End, Errand, Rounds, Ways, Window

STREET = Ways.of(*(2 * [[[100 * abs(a - b) for b in range(10)] for a in range(10)]]))
DAY = Window(0, 10_000)


def errand(code: str, fetch: int, bring: int, amount_g: int = 1_000, **more: object) -> Errand:
    """From one place to another, at any time, with no time at the stops."""
    window = more.pop("fetch_in", DAY)
    home = more.pop("bring_in", DAY)
    return Errand(code, amount_g, End(fetch, window), End(bring, home), **more)  # type: ignore[arg-type]


def carrier(code: str = "anna", **more: object) -> Carrier:
    """From place 0 and back to it, with 10 kg."""
    given: dict[str, object] = {"start": 0, "end": 0, "shift": DAY, "load_limit_g": 10_000}
    return Carrier(code, **{**given, **more})  # type: ignore[arg-type]


def street(*errands: Errand, carriers: tuple[Carrier, ...] = ()) -> Rounds:
    """The problem on the street."""
    return Rounds(errands, carriers or (carrier(),), (STREET,))
