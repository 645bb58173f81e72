"""What waste is made of: the published table's materials and a group's own measured ones."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Coded, GroupScoped, same_group


class Holding(models.TextChoices):
    """How a material keeps."""

    WET = "wet", _("wet food waste")
    DUNG = "dung", _("dung")
    DRY = "dry", _("dry or oily goods")


class Material(Coded):
    """One kind of waste. `published_id` names the row of the published table it came from;
    empty for a material that the group measured itself."""

    name = models.CharField(max_length=120)
    published_id = models.CharField(max_length=40, blank=True)
    share_groups = models.JSONField(default=list, blank=True)
    holding = models.CharField(max_length=4, choices=Holding.choices, default=Holding.WET)
    buffers = models.BooleanField(default=False)
    cautions = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)


class Evidence(models.TextChoices):
    """How well a figure is known."""

    READ = "read", _("read in the source")
    DERIVED = "derived", _("derived from figures read in the source")
    MEMORY = "memory", _("from memory of the source")
    PRACTICE = "practice", _("common practice, no source")
    ASSUMED = "assumed", _("assumed")
    MEASURED = "measured", _("measured by the group")


class Figure(GroupScoped):
    """One figure of one material, with its unit, source and evidence. No row: not known."""

    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="figures")
    quantity = models.CharField(max_length=30)
    value = models.DecimalField(max_digits=12, decimal_places=6)
    low = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    high = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    unit = models.CharField(max_length=20)
    source = models.TextField()
    evidence = models.CharField(max_length=10, choices=Evidence.choices)

    class Meta(GroupScoped.Meta):
        ordering = ["quantity"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("material"),
            models.UniqueConstraint(fields=["material", "quantity"], name="feedstock_figure_once"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.value} {self.unit}"


class Measure(Coded):
    """A container people measure by, such as a pail or a jug."""

    name = models.CharField(max_length=60)
    volume_ml = models.PositiveIntegerField()

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            models.CheckConstraint(
                name="feedstock_measure_volume",
                condition=models.Q(volume_ml__gte=50, volume_ml__lte=200_000),
            ),
        ]
