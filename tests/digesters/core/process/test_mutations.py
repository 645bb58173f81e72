"""A spoilt model is noticed by something published."""

from dataclasses import replace

import pytest

from apps.digesters.core.process.parameters import default_parameters
from tests.digesters.core.process.published import CHECKS

P = default_parameters()
SPOILT = {
    "solids dissolve at a quarter": {"k_slow": P.k_slow / 4.0},
    "solids dissolve four times as fast": {"k_slow": P.k_slow * 4.0},
    "fibre crumbles at a third": {"k_fibre": P.k_fibre / 3.0},
    "methanogens eat half": {"k_methanogen": P.k_methanogen / 2.0},
    "methanogens eat double": {"k_methanogen": P.k_methanogen * 2.0},
    "half saturation doubled": {"half_saturation": P.half_saturation * 2.0},
    "cells of acid doubled": {"yield_acidogen": P.yield_acidogen * 2.0},
    "fat is hardly eaten": {"k_fat": P.k_fat / 4.0},
    "cold does not slow hydrolysis": {"theta_hydrolysis": 0.0},
    "hydrolysis doubly slowed by cold": {"theta_hydrolysis": 2.0 * P.theta_hydrolysis},
    "cold does not slow methanogens": {"theta_methanogen": 0.0},
    "methanogens doubly slowed by cold": {"theta_methanogen": 2.0 * P.theta_methanogen},
    "methanogens work at 10 C": {"cold_midpoint": 5.0},
    "ammonia harms nobody": {"ammonia_half": 1e3},
    "acid harms nobody": {"ph_half_methanogen": 3.0},
    "acids carry half their charge": {"acid_charge": P.acid_charge / 2.0},
}


@pytest.mark.parametrize("change", SPOILT.values(), ids=SPOILT.keys())
def test_a_spoilt_model_is_noticed(change):
    spoilt = replace(P, **change)
    for check in CHECKS:
        try:
            check(spoilt)
        except AssertionError:
            return
    pytest.fail("no published figure notices it")
