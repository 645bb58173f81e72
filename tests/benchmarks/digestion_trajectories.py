"""Our model beside the reference ADM1, parameters known: gas error and day of souring.

    python -m tests.benchmarks.digestion_trajectories [runs of each kind] [seed] [folder]

First the stored trajectories of tests/data/adm1 (or of another folder with files of the kind), then
freshly generated digesters of five kinds. Targets: median gas error in the normal band at most 10 %
by day and 8 % by week; souring within 3 days on at least 75 % of overloads; none invented. The
constants were set on seeds 101 to 103.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.simulate import DailyResults, simulate
from apps.digesters.core.process.state import seeded_state
from tests.benchmarks.digestion_inputs import inputs_of, reference_gas
from tests.benchmarks.digestion_reference import Waste
from tests.benchmarks.digestion_scenarios import KINDS, scenarios, truths

STORED = Path(__file__).resolve().parents[1] / "data" / "adm1"
FED_FROM_DAY = 15
NORMAL_PH = 6.8
SOUR_PH = 6.5
WEEK = 7


@dataclass(frozen=True)
class Trajectory:
    """A reference run: (days,) arrays as the stored files have them."""

    name: str
    volume_m3: float
    am: float
    ah: float
    waste: Waste
    feed_kg: np.ndarray
    water_l: np.ndarray
    slurry_c: np.ndarray
    gas_nm3: np.ndarray
    ph: np.ndarray
    vfa: np.ndarray


def stored_trajectory(path: Path) -> Trajectory:
    """Read a stored file: header comments, then daily rows."""
    header = "\n".join(x for x in path.read_text().splitlines() if x.startswith("#"))

    def figure(name: str) -> float:
        found = re.search(rf"{name}[=:]([0-9.]+)", header)
        if found is None:
            raise ValueError(f"{path.name} does not say {name}.")
        return float(found.group(1))

    rows = np.genfromtxt(
        path, delimiter=",", names=True, skip_header=header.count("\n") + 1, encoding="utf-8"
    )
    waste = Waste(
        figure("TS"), figure("VS_over_TS"), figure("carbohydrate"), figure("protein"),
        figure("lipid"), figure("soluble_share_of_carbohydrate"),
    )  # fmt: skip
    return Trajectory(
        path.stem, figure("V_liq_m3"), figure("activity_factor_am"),
        figure("hydrolysis_factor_ah"), waste, rows["feed_kg"], rows["water_L"],
        rows["T_slurry_C"], rows["gas_Nm3_d"], rows["pH"], rows["VFA_kgCOD_m3"],
    )  # fmt: skip


def ours(
    those: list[Trajectory], parameters: ProcessParameters | None = None
) -> tuple[DailyResults, np.ndarray]:
    """Our model on the same plants and days; results and gas [Nm3/d] counted alike."""
    volumes = np.array([t.volume_m3 for t in those])
    slurry = np.stack([t.slurry_c for t in those], axis=1)
    inputs = inputs_of(
        [t.waste for t in those],
        list(volumes),
        np.stack([t.feed_kg for t in those], axis=1),
        np.stack([t.water_l for t in those], axis=1),
        slurry,
    )
    am = np.array([t.am for t in those])
    ah = np.array([t.ah for t in those])
    start = seeded_state((len(those),))
    results = simulate(start, inputs, activity=am, hydrolysis=ah, parameters=parameters)
    return results, reference_gas(results, slurry, volumes)


def souring_day(ph: np.ndarray) -> int | None:
    """First day below pH 6.5 once feeding began."""
    sour = np.flatnonzero(ph < SOUR_PH)
    return int(sour[0]) if sour.size else None


def gas_errors(seen: np.ndarray, made: np.ndarray, ph: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Relative errors by day and by week in the normal band, after the resting days [-]."""
    sound = (ph > NORMAL_PH) & (np.arange(len(ph)) >= FED_FROM_DAY)
    daily = np.abs(made / np.maximum(seen, 1e-9) - 1.0)[sound]
    weeks = [slice(k, k + WEEK) for k in range(FED_FROM_DAY, len(ph) - WEEK + 1, WEEK)]
    weekly = [abs(made[w].sum() / seen[w].sum() - 1.0) for w in weeks if sound[w].all()]
    return daily, np.array(weekly)


def main(per_kind: int, seed: int, folder: Path) -> None:
    those = [stored_trajectory(path) for path in sorted(folder.glob("s*.csv"))]
    print("Stored trajectories")
    for one in those:
        results, gas = ours([one])
        daily, weekly = gas_errors(one.gas_nm3, gas[:, 0], one.ph)
        print(
            f"  {one.name:22s} gas error day {np.median(daily):6.1%} week {np.median(weekly):6.1%}"
            f"  pH {np.median(np.abs(results.ph[:, 0] - one.ph)[one.ph > NORMAL_PH]):.3f}"
            f"  sours on day {souring_day(one.ph)}, ours {souring_day(results.ph[:, 0])}"
        )

    made = scenarios(per_kind, seed)
    seen = truths(made)
    generated = [
        Trajectory(
            s.kind, s.volume_m3, s.am, s.ah, s.waste, s.feed_kg, s.water_l, s.slurry_c,
            t.gas_nm3, t.ph, t.vfa,
        )
        for s, t in zip(made, seen, strict=True)
    ]  # fmt: skip
    results, gas = ours(generated)
    print(f"Generated digesters, {per_kind} of each kind, seed {seed}")
    print("  kind         gas day   p90  week | sour found extra | day ours-reference: median"
          "  within 3 days  80 % range")  # fmt: skip
    every_day, every_week = [], []
    for kind in KINDS:
        daily, weekly, shifts = [], [], []
        sour = found = extra = 0
        for k, one in enumerate(generated):
            if one.name != kind:
                continue
            day, week = gas_errors(one.gas_nm3, gas[:, k], one.ph)
            daily.append(day)
            weekly.append(week)
            truth, model = souring_day(one.ph), souring_day(results.ph[:, k])
            sour += truth is not None
            extra += truth is None and model is not None
            if truth is not None and model is not None:
                found += 1
                shifts.append(model - truth)
        d, w = np.concatenate(daily), np.concatenate(weekly)
        every_day.append(d)
        every_week.append(w)
        shift = np.array(shifts, dtype=float)
        days = (
            f"{np.median(shift):+5.1f}  {(np.abs(shift) <= 3).sum() / max(sour, 1):14.0%}"
            f"  {np.quantile(shift, 0.1):+.0f} to {np.quantile(shift, 0.9):+.0f}"
            if shift.size
            else "none"
        )
        print(
            f"  {kind:11s} {np.median(d):7.1%} {np.quantile(d, 0.9):6.1%} {np.median(w):6.1%} |"
            f" {sour:4d} {found:5d} {extra:5d} | {days}"
        )
    d, w = np.concatenate(every_day), np.concatenate(every_week)
    print(f"  all kinds: median gas error by day {np.median(d):.1%} (target 10 %), "
          f"by week {np.median(w):.1%} (target 8 %)")  # fmt: skip


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 30,
        int(sys.argv[2]) if len(sys.argv) > 2 else 2,
        Path(sys.argv[3]) if len(sys.argv) > 3 else STORED,
    )
