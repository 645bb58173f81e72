"""One tank with its gas holder, bin and burner, at one home."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from apps.feedstock.models import Material
from apps.groups.models import Coded, GroupScoped, same_group
from apps.ledger.models import Account
from apps.people.models import Member
from apps.places.models import Place


class DigesterKind(models.TextChoices):
    """How the tank holds its gas and whether it is stirred."""

    FLOATING_DRUM = "floating_drum", _("floating drum")
    FIXED_DOME = "fixed_dome", _("fixed dome")
    BAG = "bag", _("bag")
    STIRRED_TANK = "stirred_tank", _("stirred tank")


class StageName(models.TextChoices):
    """Where a digester is in its life."""

    DRY = "dry", _("dry")
    SEEDED = "seeded", _("seeded")
    RESTING = "resting", _("resting after seeding")
    RAMPING = "ramping", _("ramping")
    RUNNING = "running", _("running")
    PAUSED = "paused", _("paused")
    RECOVERING = "recovering", _("recovering")
    CLOSED = "closed", _("closed")


class Digester(Coded):
    """What is on the plate and at the home. Zero on the plate means: not stated, no waste."""

    name = models.CharField(max_length=120)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="digesters")
    household = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="digesters"
    )
    account = models.OneToOneField(Account, on_delete=models.PROTECT, related_name="digester")
    bin_account = models.OneToOneField(
        Account, on_delete=models.PROTECT, related_name="bin_of_digester"
    )
    kind = models.CharField(max_length=15, choices=DigesterKind.choices)
    working_volume_ml = models.PositiveIntegerField(
        validators=[MinValueValidator(50_000), MaxValueValidator(100_000_000)]
    )
    rated_feed_g = models.PositiveIntegerField(help_text=_("Plate: grams of waste a day."))
    rated_slurry_ml = models.PositiveIntegerField(
        help_text=_("Plate: millilitres of waste and water a day.")
    )
    solids_target_ppm = models.PositiveIntegerField(
        default=60_000,
        validators=[MinValueValidator(40_000), MaxValueValidator(80_000)],
        help_text=_("Total solids wanted in the slurry fed, in millionths (4 to 8 %)."),
    )
    gas_holder_ml = models.PositiveIntegerField(default=0)
    drum_diameter_mm = models.PositiveIntegerField(null=True, blank=True)
    drum_stop_mm = models.PositiveIntegerField(null=True, blank=True)
    drum_mass_g = models.PositiveIntegerField(null=True, blank=True)
    full_pressure_pa = models.PositiveIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(500), MaxValueValidator(20_000)],
        help_text=_("Fixed dome: gas pressure above the air's at which gas escapes."),
    )
    burner_ml_per_h = models.PositiveIntegerField(default=300_000)
    outflow_storage_ml = models.PositiveIntegerField(null=True, blank=True)
    bin_g = models.PositiveIntegerField(default=20_000)
    wanted_minutes_per_day = models.PositiveSmallIntegerField(
        default=120, help_text=_("Minutes of one burner a day that the household wishes for.")
    )
    max_visits_per_day = models.PositiveSmallIntegerField(
        default=3, validators=[MinValueValidator(1), MaxValueValidator(20)]
    )
    min_pickup_g = models.PositiveIntegerField(default=500)
    accepts_animal_waste = models.BooleanField(default=False)
    stage = models.CharField(max_length=12, choices=StageName.choices, default=StageName.DRY)
    stage_since_on = models.DateField()

    class Meta(Coded.Meta):
        constraints = [
            *Coded.Meta.constraints,
            *same_group("place", "household", "account", "bin_account"),
            models.CheckConstraint(
                name="digesters_digester_volume",
                condition=models.Q(working_volume_ml__gte=50_000),
            ),
        ]


class RefusedMaterial(GroupScoped):
    """A material that a household does not take, whatever the rules would allow."""

    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="refused")
    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="+")

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester", "material"),
            models.UniqueConstraint(fields=["digester", "material"], name="digesters_refused_once"),
        ]

    def __str__(self) -> str:
        return f"{self.digester_id} refuses {self.material_id}"


class OwnWaste(GroupScoped):
    """The household's own kitchen waste on a usual day; it goes first."""

    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="own_waste")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    amount_g_per_day = models.PositiveIntegerField(validators=[MaxValueValidator(20_000)])

    class Meta(GroupScoped.Meta):
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester", "material"),
            models.UniqueConstraint(
                fields=["digester", "material"], name="digesters_ownwaste_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_g_per_day} g"
