"""The part of ammonia that harms the gas makers."""

from apps.kernel.figures import finite

KELVIN_AT_0_C = 273.15


def free_ammonia_share(ph: float, celsius: float) -> float:
    """NH3 / (NH3 + NH4+) = 1 / (1 + 10^(0.09018 + 2729.92/T - pH)), T in K.

    Emerson et al. 1975, in the form of Hansen et al. 1998 (from memory).
    """
    finite(ph, "The pH", "pH", high=14)
    finite(celsius, "The slurry temperature", "°C", low=-5, high=75)
    pka = 0.09018 + 2729.92 / (celsius + KELVIN_AT_0_C)
    return float(1 / (1 + 10 ** (pka - ph)))
