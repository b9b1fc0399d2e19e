from scheduling.models.alert import Alert, AlertTold, VerdictSeen
from scheduling.models.case import Case, CaseStatus, Side
from scheduling.models.confirmation import CaseDecision, Decision, Lapse
from scheduling.models.gap_note import GapNote
from scheduling.models.house import ClosedDate, HouseSettings, OnCallNight, OpeningHours
from scheduling.models.loan import Loan, LoanBox, LoanLine, LoanMove, LoanMovement, LoanTray
from scheduling.models.maker import Maker
from scheduling.models.outside_box import OutsideBox, OutsideBoxVoid, Used
from scheduling.models.people import Surgeon, Theatre
from scheduling.models.pick_list import PickLine, PickList, PickListVersion, Scan
from scheduling.models.plan import ConfirmationGiven, PlanVersion
from scheduling.models.reservation import TrayReservation, UnitReservation
from scheduling.models.size_difference import SizeDifference
from scheduling.models.size_used import SizeUsed
from scheduling.models.taper_pair import TaperPair
from scheduling.models.technique import (
    Technique,
    TechniqueCheck,
    TechniqueConfirmation,
    TechniqueRule,
    TechniqueSet,
)
from scheduling.models.theatre import LabelCheck, Opening, TrayTaken
from scheduling.models.watch import CalendarFeed, LastLook, Notice, OnIt
from scheduling.models.window import Window

__all__ = [
    "Alert",
    "AlertTold",
    "CalendarFeed",
    "Case",
    "CaseDecision",
    "CaseStatus",
    "ClosedDate",
    "ConfirmationGiven",
    "Decision",
    "GapNote",
    "HouseSettings",
    "LabelCheck",
    "Lapse",
    "LastLook",
    "Loan",
    "LoanBox",
    "LoanLine",
    "LoanMove",
    "LoanMovement",
    "LoanTray",
    "Maker",
    "Notice",
    "OnCallNight",
    "OnIt",
    "Opening",
    "OpeningHours",
    "OutsideBox",
    "OutsideBoxVoid",
    "PickLine",
    "PickList",
    "PickListVersion",
    "PlanVersion",
    "Scan",
    "Side",
    "SizeDifference",
    "SizeUsed",
    "Surgeon",
    "TaperPair",
    "Technique",
    "TechniqueCheck",
    "TechniqueConfirmation",
    "TechniqueRule",
    "TechniqueSet",
    "Theatre",
    "TrayReservation",
    "TrayTaken",
    "UnitReservation",
    "Used",
    "VerdictSeen",
    "Window",
]
