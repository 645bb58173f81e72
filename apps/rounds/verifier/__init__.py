"""Checks exported rounds with nothing but the export: every rule is written a second time.

Imports nothing else of the project and nothing beyond the standard library, so that a mistake
there cannot hide here. Numbers may be whole or not: published instances are checked as they are.
"""

from apps.rounds.verifier.verify import Fault, verify

__all__ = ["Fault", "verify"]
