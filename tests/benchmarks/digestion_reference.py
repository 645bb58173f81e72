"""The reference simulator: ADM1 (bsm2-python, BSD-3) set up as a household digester.

Changed from the BSM2 parameter set exactly as written in tests/data/adm1/README.md: slower
hydrolysis, a temperature law on the biology, and one activity factor for poor mixing and weak
biomass. It is a simulated reference, not a measurement of real plants.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from bsm2_python.bsm2.adm1_bsm2 import adm1equations
from bsm2_python.bsm2.init.adm1init_bsm2 import DIGESTERPAR
from scipy.integrate import odeint

STATES = (
    "S_su S_aa S_fa S_va S_bu S_pro S_ac S_h2 S_ch4 S_IC S_IN S_I X_xc X_ch X_pr X_li X_su X_aa "
    "X_fa X_c4 X_pro X_ac X_h2 X_I S_cat S_an S_hva S_hbu S_hpro S_hac S_hco3 S_nh3 Sg_h2 Sg_ch4 "
    "Sg_co2 Q T D1 D2 D3 X4 X5"
)
NAMES = STATES.split()
AT = {name: position for position, name in enumerate(NAMES)}

# Positions in the parameter vector of adm1equations (order of its docstring).
K_DIS, K_HYD_CH, K_HYD_PR, K_HYD_LI = 41, 42, 43, 44
K_M_SU, K_M_AA, K_M_FA, K_M_C4, K_M_PRO, K_M_AC, K_M_H2 = 46, 50, 52, 55, 58, 61, 66
K_DEC = slice(70, 77)
T_OP = 79
K_P = 99

# Feed mapping of tests/data/adm1/README.md.
COD_PER_VS = {"carbohydrate": 1.19, "protein": 1.42, "lipid": 2.90, "inert": 1.40}
DUNG_START = {
    "X_xc": 14.0, "X_ch": 1.5, "X_pr": 1.0, "X_li": 0.3, "X_I": 45.0, "S_ac": 1.0, "S_pro": 0.3,
    "S_IC": 0.075, "S_IN": 0.055, "S_cat": 0.055, "X_su": 0.4, "X_aa": 0.3, "X_fa": 0.1,
    "X_c4": 0.1, "X_pro": 0.06, "X_ac": 0.15, "X_h2": 0.10,
}  # fmt: skip
SMALL = 1e-8


@dataclass(frozen=True)
class Waste:
    """Composition of a food waste: solids [kg/kg], shares of VS [-]."""

    ts: float = 0.20
    vs_of_ts: float = 0.87
    carbohydrate: float = 0.60
    protein: float = 0.17
    lipid: float = 0.13
    soluble_share: float = 0.15

    @property
    def inert(self) -> float:
        return 1.0 - self.carbohydrate - self.protein - self.lipid


def influent(waste: Waste, feed_kg: float, water_l: float) -> np.ndarray:
    """ADM1 influent [kgCOD/m3, kmol/m3] of one day's mixture; 1 kg = 1 L."""
    state = np.zeros(42)
    volume_m3 = (feed_kg + water_l) / 1000.0
    if volume_m3 <= 0.0:
        return state
    vs = feed_kg * waste.ts * waste.vs_of_ts / volume_m3
    carbohydrate = vs * waste.carbohydrate * COD_PER_VS["carbohydrate"]
    state[AT["S_su"]] = waste.soluble_share * carbohydrate
    state[AT["X_ch"]] = (1.0 - waste.soluble_share) * carbohydrate
    state[AT["X_pr"]] = vs * waste.protein * COD_PER_VS["protein"]
    state[AT["X_li"]] = vs * waste.lipid * COD_PER_VS["lipid"]
    state[AT["X_I"]] = vs * waste.inert * COD_PER_VS["inert"]
    per_m3 = feed_kg / volume_m3
    state[AT["S_ac"]] = 0.01 * per_m3
    state[AT["S_cat"]] = 0.02e-3 * per_m3 + 0.003
    state[AT["S_IN"]] = 0.010e-3 * per_m3 + 0.0005
    state[AT["S_IC"]] = 0.004
    state[AT["Q"]] = volume_m3
    return state


def dung_start() -> np.ndarray:
    """Tank filled with 1:1 fresh cattle dung and water [kgCOD/m3, kmol/m3] (assumed values)."""
    state = np.full(42, SMALL)
    for name, value in DUNG_START.items():
        state[AT[name]] = value
    state[AT["S_hac"]] = state[AT["S_ac"]] * 0.99
    state[AT["S_hpro"]] = state[AT["S_pro"]] * 0.99
    state[AT["S_hva"]] = state[AT["S_hbu"]] = SMALL
    state[AT["S_hco3"]] = 0.07
    state[AT["S_nh3"]] = 0.001
    return state


def _g(t_c: float) -> float:
    return float(1.0 / (1.0 + np.exp(-(t_c - 15.0) / 1.2)))


def parameters(t_c: float, am: float, ah: float) -> np.ndarray:
    """Parameter vector at slurry temperature t_c [C]."""
    par = DIGESTERPAR.copy()
    f_h = np.exp(0.05 * (t_c - 35.0))
    f_m = am * np.exp(0.07 * (t_c - 35.0)) * _g(t_c) / _g(35.0)
    par[K_DIS] = 0.10 * f_h * ah
    par[K_HYD_CH], par[K_HYD_PR], par[K_HYD_LI] = (k * f_h * ah for k in (0.50, 0.35, 0.25))
    par[K_M_SU] *= f_h
    par[K_M_AA] *= f_h
    for k in (K_M_FA, K_M_C4, K_M_PRO, K_M_AC, K_M_H2):
        par[k] *= f_m
    par[K_DEC] *= f_h
    par[T_OP] = t_c + 273.15
    return par


def ph_of(state: np.ndarray, t_c: float) -> float:
    """pH from the charge balance of an ADM1 state."""
    s = np.maximum(state, 0.0)
    factor = (1 / 298.15 - 1 / (t_c + 273.15)) / (100 * 0.083145)
    k_w = 1e-14 * np.exp(55900.0 * factor)
    phi = (
        s[AT["S_cat"]] + s[AT["S_IN"]] - s[AT["S_nh3"]] - s[AT["S_hco3"]] - s[AT["S_hac"]] / 64
        - s[AT["S_hpro"]] / 112 - s[AT["S_hbu"]] / 160 - s[AT["S_hva"]] / 208 - s[AT["S_an"]]
    )  # fmt: skip
    return float(-np.log10(-phi / 2 + np.sqrt(phi * phi + 4 * k_w) / 2))


def gas_flow(state: np.ndarray, t_c: float, k_p: float) -> tuple[float, float]:
    """Wet gas and methane [Nm3/d, volume at the digester rescaled by 273.15/T]."""
    t_k = t_c + 273.15
    rt = 0.083145 * t_k
    p_h2o = 0.0313 * np.exp(5290.0 * (1 / 298.15 - 1 / t_k))
    p_h2, p_ch4 = state[AT["Sg_h2"]] * rt / 16, state[AT["Sg_ch4"]] * rt / 64
    p = p_h2 + p_ch4 + state[AT["Sg_co2"]] * rt + p_h2o
    q = max(k_p * (p - 1.013), 0.0) * p / 1.013 * 273.15 / t_k
    return q, q * p_ch4 / p


@dataclass
class Run:
    """Daily results: arrays of shape (days,); volume of slurry [m3]."""

    gas_nm3: np.ndarray
    ch4_nm3: np.ndarray
    ph: np.ndarray
    vfa: np.ndarray


GAS_SAMPLES_PER_DAY = 9


def _rates(y: np.ndarray, t: float, y_in: np.ndarray, par: np.ndarray, dim: np.ndarray):
    return adm1equations(np.zeros(2), y, y_in, par, par[T_OP], dim)


def simulate(
    feed_kg: np.ndarray,
    water_l: np.ndarray,
    t_c: np.ndarray,
    *,
    volume_m3: float,
    am: float,
    ah: float,
    waste: Waste | None = None,
    start: np.ndarray | None = None,
) -> Run:
    """Daily piecewise-constant ADM1 run from a dung start."""
    waste = waste or Waste()
    state = dung_start() if start is None else start.copy()
    dim = np.array([volume_m3, 0.3 * volume_m3])
    k_p = 5e4 / 300.0 * dim[1]
    days = len(feed_kg)
    out = Run(*(np.zeros(days) for _ in range(4)))
    grid = np.linspace(0.0, 1.0, GAS_SAMPLES_PER_DAY)
    for day in range(days):
        par = parameters(float(t_c[day]), am, ah)
        par[K_P] = k_p
        y_in = influent(waste, float(feed_kg[day]), float(water_l[day]))
        path = odeint(
            _rates, state, grid, args=(y_in, par, dim), rtol=1e-6, atol=1e-8, mxstep=20000
        )
        state = path[-1]
        flows = np.array([gas_flow(row, float(t_c[day]), k_p) for row in path])
        out.gas_nm3[day], out.ch4_nm3[day] = np.trapezoid(flows, grid, axis=0)
        out.ph[day] = ph_of(state, float(t_c[day]))
        out.vfa[day] = state[[AT["S_va"], AT["S_bu"], AT["S_pro"], AT["S_ac"]]].sum()
    return out
