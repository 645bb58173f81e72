"""Checks an exported plan with nothing but the export: every rule is written a second time.

Imports nothing else of the project, so that a mistake there cannot hide here.
"""

from apps.planning.verifier.verify import verify
from apps.planning.verifier.violation import Violation

__all__ = ["Violation", "verify"]
