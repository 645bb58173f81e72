"""The forecast against a reference library on an open daily series.

Series: inflow of the Benchmark Simulation Model no. 2 as bsm2-python ships it (BSD-3,
`dyninfluent_bsm2.csv`): 609 days with weekday, season and holidays, made by the benchmark's
published generator (Gernaey et al. 2011, from memory). Reference: Holt-Winters of statsmodels with
a weekly pattern, fitted anew for every origin on the same past.
"""

from __future__ import annotations

import warnings
from datetime import date, timedelta
from importlib.resources import files

import numpy as np
from statsmodels.tsa.holtwinters import ExponentialSmoothing

from apps.supply.core.forecast import DeclaredPattern, Past, Weight, learn

FLOW = 15
"""Column of the flow in the influent file; column 0 is the day."""
START = date(2029, 1, 1)


def daily_flows() -> np.ndarray:
    file = files("bsm2_python") / "data" / "dyninfluent_bsm2.csv"
    rows = np.loadtxt(str(file), delimiter=",", usecols=(0, FLOW))
    days = rows[:, 0].astype(int)
    return np.bincount(days, rows[:, 1]) / np.bincount(days)


def test_it_misses_no_more_than_holt_winters() -> None:
    flows = np.rint(daily_flows()[:600]).astype(int)
    mean_g = int(flows[:60].mean())
    declared = DeclaredPattern((mean_g,) * 7, 0.2)  # type: ignore[arg-type]
    ours, theirs = [], []
    for origin in range(200, 590, 30):
        past = [Weight(START + timedelta(days=d), int(flows[d])) for d in range(origin)]
        on = START + timedelta(days=origin)
        learnt = learn(Past(declared, past), on)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fitted = ExponentialSmoothing(
                flows[origin - 182 : origin].astype(float), seasonal="mul", seasonal_periods=7
            ).fit()
        for ahead, expected in enumerate(fitted.forecast(7)):
            had = flows[origin + ahead]
            ours.append(abs(learnt.forecast(on + timedelta(days=ahead)).p50_g - had))
            theirs.append(abs(expected - had))
    assert np.mean(ours) <= 1.05 * np.mean(theirs)
