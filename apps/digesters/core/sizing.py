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
