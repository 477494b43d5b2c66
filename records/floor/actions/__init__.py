"""What can happen on the floor besides the work itself."""

from .calls import answer_call, call_lead
from .differences import answer_difference, note_differences
from .handing import Line, Seen, hand_over
from .seeing import see_notice
from .sheets import print_sheet, return_sheet
from .voice import note_by_voice

__all__ = [
    "Line",
    "Seen",
    "answer_call",
    "answer_difference",
    "call_lead",
    "hand_over",
    "note_by_voice",
    "note_differences",
    "print_sheet",
    "return_sheet",
    "see_notice",
]
