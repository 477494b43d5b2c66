"""What can happen on a unit's way: it is made, and worked on step by step."""

from ..filling import Shot
from .aside import put_aside, send_to_rework
from .carriers import put_carrier, take_carrier_off, withdraw_carrier
from .leaving import send_out
from .making import Bonding, Goes, Made, Moulding, bond, make_unit, mould, wind
from .tablets import lock_out_tablet, settle_tablet
from .waiting import Outside, measure_again
from .withdrawing import withdraw_unit
from .working import Work, log_step, move_steps, withdraw_step

__all__ = [
    "Bonding",
    "Goes",
    "Made",
    "Moulding",
    "Outside",
    "Shot",
    "Work",
    "bond",
    "lock_out_tablet",
    "log_step",
    "make_unit",
    "measure_again",
    "mould",
    "move_steps",
    "put_aside",
    "put_carrier",
    "send_out",
    "send_to_rework",
    "settle_tablet",
    "take_carrier_off",
    "wind",
    "withdraw_carrier",
    "withdraw_step",
    "withdraw_unit",
]
