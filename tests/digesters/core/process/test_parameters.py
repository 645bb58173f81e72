"""The constants: complete, sourced, and no others."""

import csv

import pytest

from apps.digesters.core.process.parameters import (
    PARAMETER_FILE,
    ParameterFileWrong,
    default_parameters,
    parameters_from,
)


def test_each_constant_has_unit_source_and_evidence():
    with PARAMETER_FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            assert row["unit"], row
            assert row["source"], row
            assert row["evidence"] in {"read", "derived", "memory", "fitted", "assumed"}, row


def test_missing_and_unknown_names_are_refused():
    with pytest.raises(ParameterFileWrong, match="unknown"):
        parameters_from({"k_slow": 0.3, "secret": 1.0})


def test_ultimate_methane_of_acids_leaves_room_for_cells():
    p = default_parameters()
    assert 0.0 < p.yield_methanogen < 0.1
    assert 0.0 < p.yield_acidogen < 0.2
