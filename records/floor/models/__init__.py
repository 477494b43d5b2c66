"""What only the floor knows: calls and who saw them, emergency sheets, hand-overs, entries judged by other rules."""

from .calls import Call, CallAnswer
from .differences import Difference, DifferenceAnswer
from .handing import HandOver, HandOverLine
from .seen import Seen
from .sheets import EmergencySheet, SheetLine, SheetReturn
from .voice import ByVoice

__all__ = [
    "ByVoice",
    "Call",
    "CallAnswer",
    "Difference",
    "DifferenceAnswer",
    "EmergencySheet",
    "HandOver",
    "HandOverLine",
    "Seen",
    "SheetLine",
    "SheetReturn",
]
