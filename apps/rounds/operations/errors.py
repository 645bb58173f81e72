"""What a round may refuse."""

from __future__ import annotations

from apps.kernel.errors import Conflict, NeedsConfirmation, Refused


class NothingToCarry(Refused):
    """No open pickup that day."""

    code = "nothing_to_carry"


class RoundRefused(Conflict):
    """The round is not where this starts, or has changed meanwhile."""

    code = "round_refused"


class StopRefused(Conflict):
    """The stop is done, not needed, or before its turn."""

    code = "stop_refused"


class OrderImpossible(Refused):
    """An order that breaks a limit."""

    code = "order_impossible"


class LiftingCaution(NeedsConfirmation):
    """Announcing needs somebody who has read what is lifted."""

    code = "lifting_caution"
