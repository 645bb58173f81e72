"""Cautions of the published materials, so that pages can say them in every language."""

from __future__ import annotations

from django.utils.translation import gettext_noop

MATERIAL_CAUTIONS: frozenset[str] = frozenset(
    {
        gettext_noop(
            "Sours fast when fed alone: mix in dung. Take out soil, string and plastic, and "
            "chop below 5 cm. Stalks and vines give far less gas."
        ),
        gettext_noop("Sugar sours fastest of all: only a share of a day's feed, with dung."),
        gettext_noop("Very wet, and floats unless chopped. Cabbages make more hydrogen sulphide."),
        gettext_noop(
            "Starch turns to acid quickly. Raw cassava peel holds cyanide: wilt or soak it, and "
            "keep its share small."
        ),
        gettext_noop(
            "Its sulphur holds the bacteria back and makes more hydrogen sulphide: only a small "
            "share of a day. Dry skins float."
        ),
        gettext_noop(
            "Its oil (limonene) holds the gas makers back. Books disagree how much is safe, 24 "
            "to 192 mg of oil a day and litre of digester: only a small share."
        ),
        gettext_noop("Stringy: chop it. Stem and leaf give far less gas."),
        gettext_noop("Leave the stones out: they do not rot."),
        gettext_noop("Very wet and sour."),
        gettext_noop("Pure starch: a little every day, never much at once, and with other feed."),
        gettext_noop(
            "May hold meat: rules on animal waste then apply. Fat is slow and acts late. Take "
            "out bones and cutlery."
        ),
        gettext_noop(
            "May hold meat: rules on animal waste then apply. Take out bones and cutlery. A "
            "plant fed with it alone soured at the start: mix in dung."
        ),
        gettext_noop(
            "Look for plastic, bones and shell. In many places kitchen waste counts as catering "
            "waste."
        ),
        gettext_noop(
            "Very strong: 1 kg holds about 0.63 kg of volatile solids and easily overfeeds a "
            "small digester. Soak it first."
        ),
        gettext_noop("Protein makes ammonia and hydrogen sulphide; good beside starch."),
        gettext_noop(
            "Mixed with dung it cut the gas by 44 to 85 percent in one study: only a small share."
        ),
        gettext_noop(
            "Sours within hours and has nothing that holds acid off: a little, with dung."
        ),
        gettext_noop("Fat holds bacteria back. It comes from animals: check the local rule."),
        gettext_noop(
            "Makes ammonia and hydrogen sulphide, and draws vermin. Bones do not rot. Rules on "
            "animal waste apply."
        ),
        gettext_noop(
            "Leave it out unless the local rule on animal waste allows it and it is heated as "
            "that rule says (in the EU 70 °C for 60 minutes, pieces below 12 mm)."
        ),
        gettext_noop(
            "Holds bacteria back, makes scum and blocks pipes: a small share, stirred into "
            "other feed, never much at once."
        ),
        gettext_noop(
            "Makes no gas, sinks and fills the tank. A little, ground to powder, holds acid off."
        ),
        gettext_noop(
            "Do not rot in a household digester, block the inlet and draw vermin. Rules on "
            "animal waste apply."
        ),
        gettext_noop("Woody: little gas and a floating crust. Compost the woody parts."),
        gettext_noop("Floats in mats: chop and wilt it. None from lawns treated with pesticide."),
        gettext_noop("Slow, and float; better in compost."),
        gettext_noop(
            "Makes practically no gas in a household digester: use it as bedding or in compost."
        ),
        gettext_noop("No coated or printed paper. Office paper rots far better than newsprint."),
        gettext_noop(
            "The best starter: it brings the gas makers. None from animals under antibiotics."
        ),
        gettext_noop(
            "As cattle dung; its coarser fibre makes scum. None from animals under antibiotics."
        ),
        gettext_noop(
            "Makes ammonia; may hold copper, zinc, disinfectant and germs: gloves, and wash hands."
        ),
        gettext_noop(
            "Makes much ammonia: thin it, and feed it with carbon-rich waste. Grit settles in "
            "the tank."
        ),
        gettext_noop("Hard pellets float or sink: soak and crush them."),
        gettext_noop("Makes ammonia: thin it."),
        gettext_noop(
            "Not part of a shared round: rules on sanitation apply, it carries disease, and "
            "outflow is then unfit for food crops."
        ),
        gettext_noop("Fibrous, and floats: chop it. It takes up heavy metals from dirty water."),
        gettext_noop("Rich in protein, which makes ammonia; fibrous, so some of it floats."),
        gettext_noop("Fibrous, and floats: chop it small."),
    }
)
