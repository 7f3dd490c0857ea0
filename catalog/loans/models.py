"""Calls, wearers, holds, loans."""

from catalog.loans.call_models import Call, CallNeed, Wearer, WearerDay
from catalog.loans.loan_models import Hold, HoldDay, HoldPiece, Loan, LoanLine, PartReturn

__all__ = [
    "Call",
    "CallNeed",
    "Hold",
    "HoldDay",
    "HoldPiece",
    "Loan",
    "LoanLine",
    "PartReturn",
    "Wearer",
    "WearerDay",
]
