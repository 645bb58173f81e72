"""Materials, their figures and the containers they are measured by."""

from apps.feedstock.models.material import Evidence, Figure, Holding, Material, Measure

__all__ = ["Evidence", "Figure", "Holding", "Material", "Measure"]
