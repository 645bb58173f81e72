"""What the process model makes of a digester: derived, and made anew by `rebuild_model_states`."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from apps.digesters.core.process.digester_view import WarningKind
from apps.digesters.models.digester import Digester
from apps.groups.models import GroupScoped, same_group


class ModelState(GroupScoped):
    """A digester's ensemble at the end of one local day, with the hash of what it came from.

    Never the truth: feedings and readings are. `figures` is what that day's run foresaw and what
    was seen, for the history; `safe_vs_g` the largest daily feed that the model holds safe for
    the week after, None where the rules bind first or it was not looked for.
    """

    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="model_states")
    on = models.DateField()
    blob = models.BinaryField()
    inputs_hash = models.CharField(max_length=64)
    model_version = models.PositiveSmallIntegerField()
    figures = models.JSONField(default=dict, blank=True)
    safe_vs_g = models.PositiveIntegerField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["on", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester"),
            models.UniqueConstraint(
                fields=["group", "digester", "on"], name="digesters_model_state_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.digester_id} on {self.on}"


class RaisedWarning(GroupScoped):
    """A warning, raised once; it stands until evidence clears it, its figures kept fresh.

    `evidence` is {"template", "values"}, `advice` a template, `cautions` keys of
    `core.cautions.CAUTIONS`.
    """

    digester = models.ForeignKey(Digester, on_delete=models.CASCADE, related_name="warnings")
    kind = models.CharField(
        max_length=15, choices=[(kind.value, kind.value) for kind in WarningKind]
    )
    raised_on = models.DateField()
    within_days = models.PositiveSmallIntegerField()
    certainty = models.FloatField(validators=[MinValueValidator(0), MaxValueValidator(1)])
    evidence = models.JSONField()
    advice = models.TextField()
    cautions = models.JSONField(default=list, blank=True)
    cleared_on = models.DateField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        ordering = ["within_days", "-certainty", "kind", "id"]
        constraints = [
            *GroupScoped.Meta.constraints,
            *same_group("digester"),
            models.UniqueConstraint(
                fields=["group", "digester", "kind"],
                condition=models.Q(cleared_on=None),
                name="digesters_warning_stands_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.digester_id}"
