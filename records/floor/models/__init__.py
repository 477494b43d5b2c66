"""What only the floor knows: calls for the lead, emergency sheets, hand-overs, entries judged by other rules."""

from .calls import Call, CallAnswer
from .differences import Difference, DifferenceAnswer
from .handing import HandOver, HandOverLine
from .sheets import EmergencySheet, SheetLine, SheetReturn

__all__ = [
    "Call",
    "CallAnswer",
    "Difference",
    "DifferenceAnswer",
    "EmergencySheet",
    "HandOver",
    "HandOverLine",
    "SheetLine",
    "SheetReturn",
]
