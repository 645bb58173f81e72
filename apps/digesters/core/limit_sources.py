"""Where the limits are from, marked for translation: `limits.csv` has the same sentences.

Titles, names and pages of publications stay as they are in every language.
"""

from __future__ import annotations

from typing import Final

from apps.kernel.words import gettext_noop

LIMIT_SOURCES: Final = frozenset(
    {
        gettext_noop(
            "Open Waste Manag. J. 11 (2018) Table 2: about 1.5 at 7.5 % TS and 40 d (read); "
            "GTZ 1989 s. 5.1: up to 1.5 (memory)"
        ),
        gettext_noop(
            "Interpolation point chosen by us; GTZ 1989 s. 4.5 runs 0.67-0.80 at 25 °C (read)"
        ),
        gettext_noop(
            "Chosen by us after the shape with temperature of Yang et al. 2016, Water Res. "
            "102:464-474"
        ),
        gettext_noop(
            "Safley & Westerman 1994 as quoted: feasible at 10 °C only at <= 0.12 (read, "
            "secondary quote)"
        ),
        gettext_noop(
            "No published loading below 10 °C: Safley & Westerman 1994 as quoted stops there"
        ),
        gettext_noop(
            "Voegeli et al. 2014, Eawag, s. 3: < 2 (memory); Energies 2020 13(5) 1279: food "
            "waste alone about 2 (read)"
        ),
        gettext_noop(
            "Chen, Romano, Zhang (UC Davis): start range 0.5-1.0 (read); green band of our "
            "design rules"
        ),
        gettext_noop("Biogas Digest Vol. II (GTZ/ISAT) p. 39-40: RT >= 40 d (read)"),
        gettext_noop(
            "Biogas Digest Vol. II (GTZ/ISAT) p. 39-40: 60-80 d common (read); its "
            "temperature chosen by us"
        ),
        gettext_noop("Zeeman 1991 as quoted: stable at 15 °C with 100-150 d (read)"),
        gettext_noop("Voegeli et al. 2014: raise the load over weeks, e.g. 25-50-75-100 %"),
        gettext_noop(
            "Chosen by us: same-day doubling is the usual cause of souring (handbook practice)"
        ),
        gettext_noop("Chosen by us"),
        gettext_noop(
            "Handbooks: 6.8-7.5 good, < 6.5 stop feeding (memory); an 850 L research plant "
            "ran at about 6.5 (Lohri 2009, read)"
        ),
        gettext_noop("Handbooks: 6.8-7.5 good"),
        gettext_noop(
            "Biogas Digest Vol. II p. 7: strong smell is a breaking-in sign; add no more "
            "biomass (read)"
        ),
        gettext_noop(
            "Voegeli et al. 2014 as quoted: 0.6-1.2 m3 biogas/kg VS from kitchen waste (read)"
        ),
        gettext_noop("Mass balance: what goes in comes out but for the gas, about 1.2 kg/m3"),
        gettext_noop(
            "Ruiz & Flotats 2014: 24-192 mg oil per litre of digester and day, disputed "
            "(read); the share is ours and stays well below"
        ),
        gettext_noop(
            "Neves et al. 2008: fat lags 14.7 d to half its gas (read); the share is ours"
        ),
        gettext_noop(
            "Chosen by us; ammonia inhibits from 1500-3000 mg N/L at pH above 7.4 (US EPA 1979)"
        ),
        gettext_noop("Common practice, no source: 12-15 days"),
        gettext_noop("ISO 11228-1 as recalled: 15 kg for the general public (memory)"),
        gettext_noop("Derived: 16 L at 0.9 kg/L (US EPA 1997) is 14.4 kg"),
    }
)
