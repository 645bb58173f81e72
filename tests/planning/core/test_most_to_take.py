"""What may be taken when there is more: worked by hand."""

from __future__ import annotations

from dataclasses import replace

from apps.planning.core.most_to_take import most_to_take
from apps.planning.core.problem import Placement
from tests.planning.generator import make_problem


def test_it_is_the_high_figure_within_what_the_home_carries() -> None:
    """4 of 8 kg where 10 kg may come: 5 kg. With 3 kg of another batch at the same visit, of
    which 6 kg may come, 1 and 3 kg more are 11 kg; of a limit of 9 kg two are left, shared 1 to
    3. Another day is another visit."""
    made = make_problem(6, 3, 1)
    first, second = made.batches[:2]
    home = made.digesters[0].code
    problem = replace(
        made,
        digesters=(replace(made.digesters[0], carry_limit_g=9_000), *made.digesters[1:]),
        batches=(
            replace(first, amount_g=8_000, low_g=None, high_g=10_000),
            replace(second, source=first.source, amount_g=3_000, low_g=None, high_g=6_000),
        ),
    )
    alone = Placement(first.code, home, 0, 4_000)
    beside = Placement(second.code, home, 0, 3_000)
    assert most_to_take(problem, [alone]) == [5_000]
    assert most_to_take(problem, [alone, beside]) == [4_500, 4_500]
    assert most_to_take(problem, [alone, replace(beside, day=1)]) == [5_000, 6_000]
