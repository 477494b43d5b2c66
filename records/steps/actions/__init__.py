"""What can happen on a unit's way: it is made, and worked on step by step."""

from ..filling import Shot
from .making import Bonding, Goes, Made, Moulding, bond, make_unit, mould, wind
from .working import Work, log_step, move_steps, withdraw_step

__all__ = [
    "Bonding",
    "Goes",
    "Made",
    "Moulding",
    "Shot",
    "Work",
    "bond",
    "log_step",
    "make_unit",
    "mould",
    "move_steps",
    "wind",
    "withdraw_step",
]
