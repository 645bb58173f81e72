"""One time step of the process model: equations (1) to (16), semi-implicit and vectorised.

A reduced ADM1 (Batstone et al. 2002; constants of the BSM2 set, Rosen & Jeppsson 2006): acetic acid
alone is held back by acid and ammonia, as there; the eaters of sugar and amino acids are one group,
those of propionic, butyric and valeric acid keep a steady share of the acetic ones, and hydrogen
goes to methane at once. T is slurry temperature [C]; every rate is per day at 35 C.

    (1)  f_h = exp(theta_h (T - 35))
    (2)  f_m = exp(theta_m (T - 35)) g(T) / g(35),   g(T) = 1 / (1 + exp(-(T - mid) / width))
    (3)  I1  = 1 / (1 + (H / 10^-pH_h)^2)            hydrolysis, higher and long acids in acid
    (4)  I2  = 1 / (1 + (H / 10^-pH_m)^3)            methanogens in acid
    (5)  I3  = 1 / (1 + NH3 / K_NH3)                 methanogens in ammonia
    (6)  k_d f_h Xd                                  fibre and dead cells crumble: 0.7 to Xs
    (7)  h   = k_f f_h I1 Xf + ah k_s f_h I1 Xs      dissolves; its fat l as long-chain acids
    (8)  rh  = am k_i f_m I1 Xm Sh / (K_i + Sh)      higher acids;  rl likewise on Xl, long acids
    (9)  r   = am k_m f_m I2 I3 Xm S / (K_v + S)     acetic acid
    (10) q   = f (1 - Ya)(h - l) + fi (1 - Yi) rh + fl (1 - Yl) rl   hydrogen, at once to methane
    (11) dSh = i (1 - Ya)(h - l) - rh                dSl = l - rl
         dS  = (1 - f - i)(1 - Ya)(h - l) + (1 - fi)(1 - Yi) rh + (1 - fl)(1 - Yl) rl - r
    (12) dXa = Ya (h - l) + Yi rh + Y2 q - b f_h Xa   dXl = Yl rl - b f_h Xl   dXm = Ym r - b f_h Xm
    (13) CH4 = (1 - Ym) r + (1 - Y2) q               [kgCOD/m3/d]; 64 kgCOD to the kmol
    (14) dN, dC: what the solids release less what the cells, acids and gas take up
    (15) Z + NH4 + H = HCO3 + (S/64 + Sh/112) Ka / (Ka + H) + OH   solved for H
    (16) qCO2 = kLa (CO2 - K_H P qCO2 / (qCO2 + qCH4))   holder at constant pressure P

Dead cells go to Xd. Every row is carried by the flow, D (in - x), implicitly. Two limits keep the
elements above zero for feeds no tank should see: cells stop growing when nitrogen runs out (what
they would have taken goes to acids or methane), and solids and acids wait when the inorganic
carbon that their hydrogen needs runs out.
"""

from __future__ import annotations

import numpy as np

from apps.digesters.core.process import chemistry
from apps.digesters.core.process.conditions import DayConditions
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.reactions import crumble, dissolve, eat, grow
from apps.digesters.core.process.state import (
    CARBON,
    HYDROGEN_ION,
    LOAD_ROWS,
    NITROGEN,
    STRONG_IONS,
    Floats,
)
from apps.digesters.core.process.stoichiometry import acid_anions


def advance(x: Floats, day: DayConditions, p: ProcessParameters) -> tuple[Floats, Floats]:
    """Advance the state `x` (STATE_ROWS, ...) by one step, in place.

    Returns what left as gas in the step: methane and carbon dioxide [kmol per m3 of slurry].
    """
    k = day.equilibria
    hydrogen = x[HYDROGEN_ION]
    crumble(x, day, p)
    solids = dissolve(x, day, p)
    methane = grow(x, solids, eat(x, solids, day, p), day, p)

    # Carried by the flow, implicitly.
    carried = x[:LOAD_ROWS]
    carried += day.inflow
    carried *= day.dilution

    carbon_dioxide = _stripped(x, methane, day, p)
    x[CARBON] -= carbon_dioxide
    x[HYDROGEN_ION] = chemistry.solve_hydrogen(
        hydrogen, x[NITROGEN], x[CARBON], acid_anions(x, p), x[STRONG_IONS], k
    )
    return methane, carbon_dioxide


def _stripped(x: Floats, methane: Floats, day: DayConditions, p: ProcessParameters) -> Floats:
    """Equation (16), implicit in dissolved CO2: the non-negative root of its quadratic [kmol/m3].

    Bicarbonate is what the charges of the step's start ask for; it does not leave as gas.
    """
    k = day.equilibria
    hydrogen = x[HYDROGEN_ION]
    bicarbonate = (
        x[STRONG_IONS]
        + hydrogen
        + x[NITROGEN] * hydrogen / (hydrogen + k.nh4)
        - acid_anions(x, p) * k.acid / (k.acid + hydrogen)
        - k.water / hydrogen
    )
    dissolved = x[CARBON] - np.maximum(bicarbonate, 0.0)
    np.maximum(dissolved, 0.0, out=dissolved)
    transfer = day.step_d * p.kla
    a = 1.0 + transfer
    b = a * methane + transfer * (k.co2_in_equilibrium - dissolved)
    c = transfer * dissolved * methane
    root = (np.sqrt(b * b + 4.0 * a * c) - b) / (2.0 * a)
    return np.asarray(np.minimum(np.maximum(root, 0.0), dissolved))
