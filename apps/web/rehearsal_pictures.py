"""Pictures of a rehearsed year: what the service gains, at one glance."""

from __future__ import annotations

from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.web.charts import svg

WIDTH = 360.0
BAR, GAP, LETTER = 30.0, 12.0, 16.0
POLICIES = ("by_hand", "ours")
CLASSES = {"by_hand": "c-next", "ours": "c-past", "bound": "c-box"}


def policy_name(policy: str) -> str:
    """As people read it."""
    return {
        "by_hand": _("by hand"),
        "ours": _("with the service"),
        "bound": _("best possible"),
    }[policy]


def says_gain(figures: dict[str, Any]) -> str:
    """The sentence a committee asks for."""
    of_hundred = {
        policy: round(100 * figures["policies"][policy]["days_inside"] / _days(figures))
        for policy in POLICIES
    }
    return _(
        "Of 100 days of a digester, %(ours)s are fed as they should be with the service, "
        "%(by_hand)s by hand."
    ) % {"ours": of_hundred["ours"], "by_hand": of_hundred["by_hand"]}


def gain_picture(figures: dict[str, Any]) -> SafeString:
    """Bars of the days fed as they should be, and of the kilograms fed."""
    blocks = [
        (
            _("Days fed as they should be, of 100"),
            {
                name: 100 * each["days_inside"] / _days(figures)
                for name, each in _with_bound(figures).items()
            },
        ),
        (
            _("Waste that became gas, kg"),
            {name: each["placed_g"] / 1000 for name, each in _with_bound(figures).items()},
        ),
    ]
    parts: list[SafeString] = []
    y = 0.0
    for title, values in blocks:
        parts.append(svg.text(0, y + LETTER, title, size=LETTER))
        y += LETTER + 8
        top = max(1.0, *values.values())
        for policy, value in values.items():
            long = (WIDTH - 2) * value / top
            parts.append(svg.rect(0, y, max(2.0, long), BAR, CLASSES[policy], rx=3))
            y += BAR
            words = f"{policy_name(policy)}: {value:.0f}"
            parts.append(svg.text(2, y + LETTER, words, size=LETTER))
            y += LETTER + GAP
        y += GAP
    return svg.picture(WIDTH, y, parts, kind="strip", says=says_gain(figures))


def weeks_picture(figures: dict[str, Any]) -> SafeString:
    """Part of the digester-days inside their range, week by week, one line a policy."""
    height, floor = 150.0, 124.0
    parts = [svg.line(0, floor, WIDTH, floor, "c-line"), svg.line(0, 14, WIDTH, 14, "c-line")]
    for policy, class_ in (("by_hand", "c-dash"), ("ours", "c-way")):
        weeks = figures["weeks"][policy]
        step = WIDTH / max(1, len(weeks) - 1)
        points = [
            f"{svg.shown(index * step)} "
            f"{svg.shown(floor - (floor - 14) * week['inside'] / max(1, week['days']))}"
            for index, week in enumerate(weeks)
        ]
        parts.append(svg.element("path", d="M" + "L".join(points), class_=class_, fill="none"))
    parts.append(svg.text(0, 11, "100 %", size=12, class_="soft"))
    parts.append(svg.text(0, floor + 20, _("first week"), size=LETTER, class_="soft"))
    parts.append(
        svg.text(WIDTH, floor + 20, _("last week"), size=LETTER, anchor="end", class_="soft")
    )
    says = _("Days fed as they should be, week by week: with the service and by hand.")
    return svg.picture(WIDTH, height, parts, kind="strip", says=says)


def compared_rows(figures: dict[str, Any]) -> list[dict[str, str]]:
    """The table behind the pictures."""
    policies, bound = figures["policies"], figures["bound"]

    def row(label: str, name: str, divide: int = 1, best: object = "") -> dict[str, str]:
        return {
            "label": label,
            "by_hand": f"{policies['by_hand'][name] / divide:.0f}",
            "ours": f"{policies['ours'][name] / divide:.0f}",
            "bound": str(best),
        }

    metres = {
        name: each["carried_g_m"] / max(1, each["placed_g"])
        for name, each in {**policies, "bound": bound}.items()
    }
    return [
        row(_("days fed as they should be"), "days_inside", best=bound["days_inside"]),
        row(_("days above the maximum"), "days_above", best=0),
        row(_("days under the minimum"), "days_below", best=bound["days"] - bound["days_inside"]),
        row(
            _("waste that became gas, kg"), "placed_g", 1000,
            round(bound["placed_g"] / 1000),
        ),
        row(_("fetched and spoiled, kg"), "spoiled_g", 1000, 0),
        row(_("walks"), "walks"),
        {
            "label": _("metres a kilogram was carried"),
            **{name: f"{value:.0f}" for name, value in metres.items()},
        },
        row(_("times a digester turned sour"), "soured"),
        row(_("days under pH 6.8"), "days_under_68"),
        row(_("methane, m³"), "methane_l", 1000),
    ]  # fmt: skip


def _with_bound(figures: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        "by_hand": figures["policies"]["by_hand"],
        "ours": figures["policies"]["ours"],
        "bound": figures["bound"],
    }


def _days(figures: dict[str, Any]) -> int:
    return max(1, int(figures["bound"]["days"]))
