"""Sizing sums of handbooks: volume, daily slurry and gas of a digester."""

from apps.kernel.figures import finite, whole


def volume_for_retention(slurry_ml: int, days: float) -> int:
    """Working volume [mL] in which ``slurry_ml`` a day stays ``days`` (Sasse 1988 s. 4.2)."""
    whole(slurry_ml, "The daily slurry", "millilitres")
    finite(days, "The retention time", "days", high=1000)
    return round(slurry_ml * days)


def slurry_for_retention(working_volume_ml: int, days: float) -> float:
    """Daily slurry [mL] that stays ``days`` in ``working_volume_ml`` (Sasse 1988 s. 4.2)."""
    whole(working_volume_ml, "The working volume", "millilitres")
    finite(days, "The retention time", "days", low=1, high=1000)
    return working_volume_ml / days


def daily_gas_m3(amount: float, m3_per_unit: float) -> float:
    """Gas [m3/d] of a daily amount (kg VS, kg fresh or head) at a yield per unit of it."""
    finite(amount, "The daily amount", "kg or head")
    finite(m3_per_unit, "The gas yield", "m3 a unit")
    return amount * m3_per_unit


def specific_gas_production(gas_m3: float, volume_m3: float) -> float:
    """Gas a day and volume of digester [m3/m3.d] (GTZ 1989 s. 4.5)."""
    finite(gas_m3, "The daily gas", "m3")
    finite(volume_m3, "The digester volume", "m3", low=1e-3)
    return gas_m3 / volume_m3


def first_order_yield(ultimate_m3_per_kg: float, k_per_day: float, retention_days: float) -> float:
    """Methane [m3/kg VS] of a mixed tank at steady state: B0 k HRT / (1 + k HRT).

    ``ultimate_m3_per_kg``: B0, what a batch test gives in the end; ``k_per_day``: first-order
    rate at the tank's temperature.
    """
    finite(ultimate_m3_per_kg, "The ultimate yield", "m3/kg VS", high=1.1)
    finite(k_per_day, "The rate", "1/d", high=10)
    finite(retention_days, "The retention time", "days", high=1000)
    reached = k_per_day * retention_days
    return ultimate_m3_per_kg * reached / (1 + reached)


def retention_for_share(share: float, k_per_day: float) -> float:
    """Days at which a mixed first-order tank reaches ``share`` (0..1) of B0: s / (1 - s) / k."""
    finite(share, "The share of the ultimate yield", "of 1", high=0.999)
    finite(k_per_day, "The rate", "1/d", low=1e-4, high=10)
    return share / (1 - share) / k_per_day
