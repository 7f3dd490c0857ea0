"""Calls, wearers, holds, loans."""

from catalog.loans.call_models import Call, CallNeed, Wearer, WearerDay
from catalog.loans.cost_models import LoanCost
from catalog.loans.loan_models import Hold, HoldDay, HoldPiece, Loan, LoanLine, PartReturn
from catalog.loans.report_models import LoanReport, LoanReportLine
from catalog.loans.scene_models import SceneNote, ScenePicture
from catalog.loans.set_models import DamageNote, SetDay, SetDayOpen, SignOut, WearSpell
from catalog.loans.unlisted_models import Unlisted

__all__ = [
    "Call",
    "CallNeed",
    "DamageNote",
    "Hold",
    "HoldDay",
    "HoldPiece",
    "Loan",
    "LoanCost",
    "LoanLine",
    "LoanReport",
    "LoanReportLine",
    "PartReturn",
    "SceneNote",
    "ScenePicture",
    "SetDay",
    "SetDayOpen",
    "SignOut",
    "Unlisted",
    "WearSpell",
    "Wearer",
    "WearerDay",
]
