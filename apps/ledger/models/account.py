"""Where grams can be. Digesters, sources and carriers point to their accounts, never back."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import Coded, GroupScoped, same_group


class AccountKind(models.TextChoices):
    """Boundaries of the book may go below zero: sources, own kitchens, digesters, variance."""

    SOURCE = "source", _("source")
    KITCHEN = "kitchen", _("own kitchens")
    DIGESTER = "digester", _("digester")
    VARIANCE = "variance", _("named variance")
    CARRIER = "carrier", _("carrier")
    BIN = "bin", _("bin")
    COMPOSTED = "composted", _("composted")
    RETURNED = "returned", _("returned")
    DISCARDED = "discarded", _("discarded")
    SPOILED = "spoiled", _("spoiled")


BOUNDARIES = frozenset(
    {AccountKind.SOURCE, AccountKind.KITCHEN, AccountKind.DIGESTER, AccountKind.VARIANCE}
)


class Account(Coded):
    """One place in the book of grams. Its code is its kind, a hyphen and its owner's code."""

    code = models.SlugField(max_length=60)
    kind = models.CharField(max_length=12, choices=AccountKind.choices)
    name = models.CharField(max_length=120)

    @property
    def is_boundary(self) -> bool:
        """Whether grams come into the book or leave it here."""
        return self.kind in BOUNDARIES


class Balance(GroupScoped):
    """Grams of one material in one account: derived from the movements, rebuilt by a command.
    `floor_g` is 0 except for boundaries, so that the database refuses an overdrawn bin."""

    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="balances")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    amount_g = models.BigIntegerField(default=0)
    floor_g = models.BigIntegerField(default=0)

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("account", "material"),
            models.UniqueConstraint(fields=["account", "material"], name="ledger_balance_once"),
            models.CheckConstraint(
                name="ledger_balance_floor",
                condition=models.Q(amount_g__gte=models.F("floor_g")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.account_id}/{self.material_id}: {self.amount_g} g"
