"""Pictures of gas under a dome and in a bag."""

import re

import pytest

from apps.web.charts.holder import draw_bag, draw_dome


@pytest.mark.parametrize("draw", [draw_dome, draw_bag])
def test_more_gas_is_drawn_larger_and_unknown_is_dashed(draw):
    empty, half, full, over = (
        str(draw(ppm, says="gas")) for ppm in (0, 500_000, 1_000_000, 2_000_000)
    )
    assert len({empty, half, full}) == 3
    assert over == full
    assert "c-dash" in str(draw(None, says="gas"))
    assert "c-dash" not in half


def test_gas_pushes_the_slurry_down():
    def level(ppm: int) -> float:
        found = re.search(r'<rect[^>]* y="([0-9.]+)"', str(draw_dome(ppm, says="gas")))
        assert found
        return float(found.group(1))

    assert level(0) < level(500_000) < level(1_000_000)
