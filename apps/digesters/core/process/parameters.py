"""The constants of the process model, read from their one data file."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

DIGESTION_DATA = Path(__file__).resolve().parents[4] / "fixtures" / "digestion"
PARAMETER_FILE = DIGESTION_DATA / "process_parameters.csv"


class ParameterFileWrong(ValueError):
    """The parameter file lacks a constant, or names one the model does not have."""


@dataclass(frozen=True)
class ProcessParameters:
    """Constants of the model; units and sources beside each in the data file."""

    k_fast: float
    k_slow: float
    k_fibre: float
    fibre_degradable: float
    fibre_fat: float
    k_methanogen: float
    half_saturation: float
    yield_methanogen: float
    ph_half_methanogen: float
    ph_half_hydrolysis: float
    acid_charge: float
    yield_acidogen: float
    hydrogen_share: float
    yield_hydrogen: float
    k_higher: float
    half_higher: float
    yield_higher: float
    higher_share: float
    hydrogen_of_higher: float
    higher_charge: float
    k_fat: float
    half_fat: float
    yield_fat: float
    hydrogen_of_fat: float
    decay: float
    ammonia_half: float
    kla: float
    n_biomass: float
    n_fibre: float
    n_inert: float
    c_biomass: float
    c_fibre: float
    c_inert: float
    c_acid: float
    c_higher_acid: float
    c_long_acid: float
    c_methane: float
    theta_hydrolysis: float
    theta_methanogen: float
    cold_midpoint: float
    cold_width: float
    pka_co2: float
    pka_nh4: float
    pka_acid: float
    pk_water: float
    heat_co2: float
    heat_nh4: float
    heat_water: float
    henry_co2: float
    heat_henry_co2: float
    p_holder: float


def parameters_from(values: Mapping[str, float]) -> ProcessParameters:
    """Build the constants, refusing missing or unknown names."""
    wanted = {field.name for field in fields(ProcessParameters)}
    if wanted != set(values):
        missing, unknown = sorted(wanted - set(values)), sorted(set(values) - wanted)
        raise ParameterFileWrong(
            f"The process parameter file lacks {missing or 'nothing'} and has unknown "
            f"{unknown or 'nothing'}. Correct {PARAMETER_FILE.name}."
        )
    return ProcessParameters(**values)


@cache
def default_parameters() -> ProcessParameters:
    """The constants of fixtures/digestion/process_parameters.csv."""
    with PARAMETER_FILE.open(encoding="utf-8", newline="") as lines:
        return parameters_from({row["name"]: float(row["value"]) for row in csv.DictReader(lines)})
