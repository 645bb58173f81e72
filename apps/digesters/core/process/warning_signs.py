"""The evidence for and against each kind of warning, with its words and cautions."""

from __future__ import annotations

from typing import Final

from apps.digesters.core.process.digester_view import (
    DigesterView,
    DigesterWarning,
    Signal,
    WarningKind,
)
from apps.kernel.sentences import Sentence, gettext_noop

# Probability of pH under 6.7 within 7 days at which the warning is raised, and at which it ends.
# Twin experiment (tests/benchmarks/digestion_twin.py), seeds 3 and 7: it warns of 93 and 95 % of
# sourings two days ahead or more, and stands on 1.5 and 2.3 % of sound digesters' days.
SOURING_RAISED: Final = 0.3
SOURING_CLEARED: Final = 0.25
SOUND_STRIP_PH: Final = 6.8
SOUR_STRIP_PH: Final = 6.5  # limit ph_stop
# US EPA 1979 as quoted: 1500 to 3000 mg N/L inhibits at pH above 7.4 to 7.6 (read).
AMMONIA_G_N_L: Final = 1.5
AMMONIA_PH: Final = 7.4
AMMONIA_ANY_PH_G_N_L: Final = 3.0
# Gas under what was foreseen by so many standard deviations is not chance; assumed.
GAS_SURPRISE_SD: Final = 2.0
COLD_FRONT_K: Final = 3.0
# What a warning has to fall back to before it ends, as a share of what raised it; assumed.
CLEAR_SHARE: Final = 0.9


def signals(view: DigesterView) -> tuple[Signal, ...]:
    """The evidence on every kind of warning."""
    return tuple(
        look(view)
        for look in (
            _souring,
            _hungry,
            _hydraulic,
            _ammonia,
            _fatty,
            _citrus,
            _gas_drop,
            _full_holder,
            _cold_front,
        )
    )


def _signal(
    kind: WarningKind,
    evident: bool,
    cleared: bool,
    evidence: Sentence,
    advice: str,
    cautions: tuple[str, ...],
    *,
    within_days: int = 0,
    certainty: float = 1.0,
) -> Signal:
    warning = DigesterWarning(kind, within_days, certainty, evidence, Sentence(advice), cautions)
    return Signal(kind, warning if evident else None, cleared and not evident)


def _silent(kind: WarningKind) -> Signal:
    return Signal(kind, None, False)


def _souring(view: DigesterView) -> Signal:
    kind, chance = WarningKind.SOURING, view.souring_probability
    if chance is None:
        return _silent(kind)
    if view.sour_smell or (view.ph_strip is not None and view.ph_strip < SOUR_STRIP_PH):
        return _soured(view)
    strip_sound = view.ph_strip is None or view.ph_strip >= SOUND_STRIP_PH
    in_days = 7 if view.souring_in_days is None else view.souring_in_days
    return _signal(
        kind,
        chance > SOURING_RAISED,
        chance <= SOURING_CLEARED and strip_sound,
        Sentence(
            gettext_noop(
                "Of 100 possible courses of this digester, %(of_100)s fall below pH 6.7 within "
                "7 days on the planned feed."
            ),
            {"of_100": round(chance * 100)},
        ),
        gettext_noop(
            "Dip a pH strip today. Feed the minimum until it is read; below pH 6.5, or with a sour "
            "smell, feed nothing and dip again tomorrow."
        ),
        ("hydrogen_sulphide", "hygiene", "indoors_phone"),
        within_days=in_days,
        certainty=chance,
    )


def _soured(view: DigesterView) -> Signal:
    """What was seen counts, whatever the model makes of it."""
    strip = view.ph_strip
    by_strip = strip is not None and strip < SOUR_STRIP_PH
    return _signal(
        WarningKind.SOURING,
        True,
        False,
        Sentence(gettext_noop("The pH strip shows %(ph)s."), {"ph": f"{strip:.1f}"})
        if by_strip
        else Sentence(gettext_noop("It smells sour.")),
        gettext_noop(
            "Feed nothing, own kitchen waste neither, and dip a strip again tomorrow. The page of "
            "the way back has the steps."
        ),
        ("hydrogen_sulphide", "hygiene", "indoors_phone"),
    )


def _hungry(view: DigesterView) -> Signal:
    kind, fed, least = WarningKind.HUNGRY, view.fed_vs_7d_g, view.minimum_vs_7d_g
    if fed is None or least is None or not view.feeding or least <= 0.0:
        return _silent(kind)
    return _signal(
        kind,
        fed < least,
        fed >= least,
        Sentence(
            gettext_noop(
                "Fed %(fed_g)s g of volatile solids in seven days; the minimum is %(least_g)s g."
            ),
            {"fed_g": round(fed), "least_g": round(least)},
        ),
        gettext_noop(
            "Bring it back over several days, at most 15 %% more a week; do not make up for missed "
            "days at once."
        ),
        ("hygiene",),
    )


def _hydraulic(view: DigesterView) -> Signal:
    kind, days, floor = WarningKind.HYDRAULIC, view.hrt_7d, view.hrt_floor
    if days is None or floor is None:
        return _silent(kind)
    return _signal(
        kind,
        days < floor,
        days >= floor / CLEAR_SHARE,
        Sentence(
            gettext_noop(
                "At the last week's rate slurry stays %(days)s days; it should stay %(floor)s."
            ),
            {"days": round(days), "floor": round(floor)},
        ),
        gettext_noop(
            "Use less water or feed less wet waste: what leaves too soon takes the living part of "
            "the digester with it, and its germs are less reduced."
        ),
        ("digestate", "hygiene"),
    )


def _ammonia(view: DigesterView) -> Signal:
    kind, grams, ph = WarningKind.AMMONIA, view.ammonia_g_n_l, view.ph
    if grams is None or ph is None:
        return _silent(kind)
    strong = grams >= AMMONIA_ANY_PH_G_N_L
    return _signal(
        kind,
        strong or (grams >= AMMONIA_G_N_L and ph > AMMONIA_PH),
        grams < AMMONIA_G_N_L * CLEAR_SHARE,
        Sentence(
            gettext_noop("About %(grams)s g of ammonia nitrogen per litre at pH %(ph)s."),
            {"grams": f"{grams:.1f}", "ph": f"{ph:.1f}"},
        ),
        gettext_noop(
            "Give less meat, fish, beans and poultry manure for a while, and more vegetables and "
            "starch; add water if the retention allows it."
        ),
        ("hydrogen_sulphide",),
    )


def _fatty(view: DigesterView) -> Signal:
    kind, share, cap = WarningKind.FATTY, view.oil_fat_share, view.oil_fat_cap
    if share is None or cap is None:
        return _silent(kind)
    return _signal(
        kind,
        share > cap,
        share <= cap * CLEAR_SHARE,
        Sentence(
            gettext_noop(
                "Oil and fat were %(share)s %% of a week's volatile solids; the cap is %(cap)s %%."
            ),
            {"share": round(share * 100), "cap": round(cap * 100)},
        ),
        gettext_noop(
            "No oil, fat or cream for a week; stir oil into other waste afterwards, little by "
            "little. Fat gives its gas late and can stop a digester."
        ),
        ("hygiene",),
    )


def _citrus(view: DigesterView) -> Signal:
    kind, share, cap = WarningKind.CITRUS, view.citrus_share, view.citrus_cap
    if share is None or cap is None:
        return _silent(kind)
    return _signal(
        kind,
        share > cap,
        share <= cap * CLEAR_SHARE,
        Sentence(
            gettext_noop("Citrus was %(share)s %% of a week's waste; the cap is %(cap)s %%."),
            {"share": round(share * 100), "cap": round(cap * 100)},
        ),
        gettext_noop("Leave citrus peel out for a week: its oil slows the digester down."),
        ("hygiene",),
    )


def _gas_drop(view: DigesterView) -> Signal:
    kind, fall = WarningKind.GAS_DROP, view.gas_fall_share
    if fall is None:
        return _silent(kind)
    cooled = (
        view.slurry_c is not None
        and view.slurry_lowest_c is not None
        and view.slurry_c - view.slurry_lowest_c > COLD_FRONT_K
    )
    foreseen = view.gas_surprise is not None and view.gas_surprise > -GAS_SURPRISE_SD
    sours = view.souring_probability is not None and view.souring_probability > SOURING_RAISED
    explained = bool(view.holder_at_stop) or cooled or sours or foreseen
    return _signal(
        kind,
        fall >= view.gas_fall_limit and not explained,
        fall < view.gas_fall_limit / 2,
        Sentence(
            gettext_noop(
                "Gas fell by %(fall)s %% in five days on the same feed, and neither cold nor a "
                "full holder nor the digester's own course explains it."
            ),
            {"fall": round(fall * 100)},
        ),
        gettext_noop(
            "Look for a leak at holder, hose, joints and valves with soapy water, never with a "
            "flame. Air the room. Have gas work done by a licensed person."
        ),
        ("leaks", "gas_fire", "hydrogen_sulphide", "gas_pools"),
    )


def _full_holder(view: DigesterView) -> Signal:
    kind = WarningKind.FULL_HOLDER
    spills = (
        view.gas_tomorrow_m3 is not None
        and view.holder_room_m3 is not None
        and view.gas_use_m3 is not None
        and view.gas_tomorrow_m3 > view.holder_room_m3 + view.gas_use_m3
    )
    if view.holder_at_stop is None and not spills:
        return _silent(kind)
    now = bool(view.holder_at_stop)
    if view.may_light:
        advice = gettext_noop(
            "Use the gas, or offer cooking time to a neighbour. If it must be let go, burn it in "
            "the open on a proper burner or vent it outdoors, high up, away from fire and people."
        )
        cautions = ("gas_fire", "gas_valves", "gas_pools")
    else:
        advice = gettext_noop(
            "Light nothing. Let the gas out in the open, high up, away from fire, windows and "
            "people, and stay upwind; then close the valve."
        )
        cautions = ("first_gas", "gas_pools", "hydrogen_sulphide")
    return _signal(
        kind,
        now or spills,
        not now and not spills,
        Sentence(
            gettext_noop("The gas holder stood at its stop at the last look.")
            if now
            else gettext_noop("More gas is expected by tomorrow than the holder can take.")
        ),
        advice,
        cautions,
        within_days=0 if now else 1,
        certainty=1.0 if now else 0.5,
    )


def _cold_front(view: DigesterView) -> Signal:
    kind = WarningKind.COLD_FRONT
    if view.slurry_c is None or view.slurry_lowest_c is None:
        return _silent(kind)
    fall = view.slurry_c - view.slurry_lowest_c
    return _signal(
        kind,
        fall > COLD_FRONT_K,
        fall <= COLD_FRONT_K / 2,
        Sentence(
            gettext_noop("Slurry is expected to cool from %(now)s to %(low)s °C within 7 days."),
            {"now": round(view.slurry_c), "low": round(view.slurry_lowest_c)},
        ),
        gettext_noop(
            "Feed less until it is warm again; cover the digester with straw or sacking, never "
            "with a heater or fire."
        ),
        ("gas_fire",),
        within_days=3,
        certainty=0.7,
    )
