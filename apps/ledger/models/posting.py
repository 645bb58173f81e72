"""What really happened to grams and millilitres. Append only; triggers refuse anything else."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import GroupScoped, same_group
from apps.kernel.quantities import MAX_FACT
from apps.ledger.models.account import Account


class PostingKind(models.TextChoices):
    """What kind of event moved the grams."""

    PICKUP = "pickup", _("pickup")
    FEEDING = "feeding", _("feeding")
    SET_ASIDE = "set_aside", _("set aside")
    OUTFLOW = "outflow", _("outflow")
    REVERSAL = "reversal", _("reversal")


class Posting(GroupScoped):
    """One event. `client_key` is made by whoever sends it and is unique in the group, so that
    sending twice writes once. A correction is a reversal and a new posting."""

    kind = models.CharField(max_length=12, choices=PostingKind.choices)
    happened_at = models.DateTimeField()
    on = models.DateField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by_uuid = models.UUIDField(null=True, blank=True)
    client_key = models.CharField(max_length=100)
    content_hash = models.CharField(max_length=64)
    """SHA-256 of what was asked: tells a repeat from another request under the same key."""
    note = models.CharField(max_length=200, blank=True)
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )

    class Meta(GroupScoped.Meta):
        ordering = ["happened_at", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("reverses"),
            models.UniqueConstraint(fields=["group", "client_key"], name="ledger_posting_once"),
        ]
        indexes = [models.Index(fields=["group", "on", "kind"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.on}"


class Movement(GroupScoped):
    """Grams of one material from one account to another, within a posting."""

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="movements")
    from_account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="left")
    to_account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="arrived")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    amount_g = models.PositiveIntegerField()

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("posting", "from_account", "to_account", "material"),
            models.CheckConstraint(
                name="ledger_movement_amount",
                condition=models.Q(amount_g__gte=1, amount_g__lte=MAX_FACT),
            ),
            models.CheckConstraint(
                name="ledger_movement_moves",
                condition=~models.Q(from_account=models.F("to_account")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_g} g"


class LiquidKind(models.TextChoices):
    """Water into a digester, liquid fertiliser out of it."""

    WATER = "water", _("water")
    OUTFLOW = "outflow", _("outflow")


class Liquid(GroupScoped):
    """Millilitres beside the grams of a posting: water in, or outflow out, of one digester."""

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="liquids")
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="liquids")
    kind = models.CharField(max_length=8, choices=LiquidKind.choices)
    amount_ml = models.IntegerField()
    """Negative only in a reversal."""

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("posting", "account"),
            models.CheckConstraint(
                name="ledger_liquid_amount",
                condition=models.Q(amount_ml__gte=-MAX_FACT, amount_ml__lte=MAX_FACT)
                & ~models.Q(amount_ml=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_ml} ml"
