"""The ledger of grams."""

from apps.ledger.models.account import BOUNDARIES, Account, AccountKind, Balance
from apps.ledger.models.posting import Liquid, LiquidKind, Movement, Posting, PostingKind

__all__ = [
    "BOUNDARIES",
    "Account",
    "AccountKind",
    "Balance",
    "Liquid",
    "LiquidKind",
    "Movement",
    "Posting",
    "PostingKind",
]
