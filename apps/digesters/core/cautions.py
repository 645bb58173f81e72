"""The usual cautions, in plain English, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from apps.kernel.sentences import gettext_noop

DEFER = gettext_noop("Follow local codes; have gas work done by a licensed person.")
"""Said with every caution below; shown wherever one of them is."""


@dataclass(frozen=True)
class Caution:
    """One caution and where it comes from; ``text`` is always shown with ``DEFER``."""

    key: str
    text: str
    source: str
    evidence: str

    @property
    def full_text(self) -> str:
        """The caution as shown in English."""
        return f"{self.text} {DEFER}"


_ALL = (
    Caution(
        "gas_fire",
        gettext_noop(
            "Biogas burns and can explode: no flame, no smoking and no sparking tools near the "
            "digester; air the room where it is burnt."
        ),
        "Methane in air 5-15 % burns (castlegroup table; EN/IEC 60079-20-1 lists 4.4 %); Harris "
        "(Adelaide) biogas safety page",
        "read",
    ),
    Caution(
        "gas_valves",
        gettext_noop(
            "Close the valve at the digester and at every burner each night; never let the gas "
            "line be sucked empty, it draws in air."
        ),
        "GTZ 1989 s. 7.5; Biogas Digest Vol. II p. 68",
        "read",
    ),
    Caution(
        "first_gas",
        gettext_noop(
            "The first gas holds air: vent the whole first holder outdoors away from fire, close, "
            "let it refill, and only then burn."
        ),
        "FAO Better Farming 31 (1984) paras 98-102",
        "read",
    ),
    Caution(
        "hydrogen_sulphide",
        gettext_noop(
            "Raw biogas holds hydrogen sulphide. It dulls the sense of smell and can kill almost "
            "at once: if you smell bad eggs strongly, or stop smelling them, go away into fresh "
            "air and call for help."
        ),
        "NIOSH: IDLH 100 ppm (PMC5777517 Table 3); energypedia: up to 3 % in raw biogas",
        "read",
    ),
    Caution(
        "pit_entry",
        gettext_noop(
            "Never climb or reach head first into a digester or its pit, even an emptied one, "
            "and never go after somebody who has fallen in: call the rescue service."
        ),
        "Penn State Extension (confined spaces, manure gas)",
        "read",
    ),
    Caution(
        "gas_pools",
        gettext_noop("Biogas can be heavier than air and gather in pits and low rooms."),
        "Gas law: below about 55 % methane it is heavier than air",
        "derived",
    ),
    Caution(
        "leaks",
        gettext_noop("Look for leaks with soapy water, never with a flame."),
        "Common practice; smell alone does not tell (GTZ 1989 s. 7.5)",
        "practice",
    ),
    Caution(
        "indoors_phone",
        gettext_noop(
            "Read the digester without the phone; write the reading down and enter it indoors."
        ),
        "Harris (Adelaide) biogas safety page: no phones near the digester",
        "read",
    ),
    Caution(
        "hygiene",
        gettext_noop(
            "Wear gloves, cover cuts, and wash hands after work and before eating: waste, slurry "
            "and outflow carry germs."
        ),
        "Harris (Adelaide); Ghana market crop waste abstract: E. coli and Salmonella on leaves",
        "read",
    ),
    Caution(
        "digestate",
        gettext_noop(
            "Outflow is not free of germs or worm eggs: dig it in or give it to the soil, keep it "
            "off edible leaves and away from wells, and cover its store."
        ),
        "Olsen & Larsen 1987, Biol. Wastes 21:153; Plym-Forshell 1995 (Ascaris eggs alive after "
        "56 d)",
        "read",
    ),
    Caution(
        "animal_waste",
        gettext_noop(
            "Meat, fish and catering waste fall under animal-health rules: keep them out unless "
            "the local rule is met."
        ),
        "Regulation (EU) 142/2011 Annex V as an example: 70 °C, 60 min, 12 mm",
        "read",
    ),
    Caution(
        "lifting",
        gettext_noop(
            "Lift at most 15 kg; use pails of at most 16 L, keep the load close and the back "
            "straight, and roll or share what is heavier."
        ),
        "ISO 11228-1: 15 kg for the general public (from memory); 16 L at 0.9 kg/L is 14.4 kg",
        "memory",
    ),
    Caution(
        "holding",
        gettext_noop(
            "Keep waiting waste drained and lidded, out of the sun and away from food, and not "
            "longer than shown: flies need about a week, germs a day."
        ),
        "House fly 7-10 d from egg to adult (pestonil; Doane 1910); holding times are practice",
        "read",
    ),
    Caution(
        "lime",
        gettext_noop(
            "Hydrated lime burns eyes and skin: goggles and gloves on, stand upwind, put lime into "
            "water and never water onto lime, and keep it from children."
        ),
        "Safety data sheets of calcium hydroxide: H315, H318, H335 (from memory)",
        "memory",
    ),
    Caution(
        "burner",
        gettext_noop(
            "A biogas burner needs larger jets than one for bottled gas; never run a bottled-gas "
            "jet unchanged."
        ),
        "energypedia Biogas Stoves; sanihub D.7",
        "read",
    ),
)

CAUTIONS: Mapping[str, Caution] = MappingProxyType({caution.key: caution for caution in _ALL})
"""Cautions by key."""
