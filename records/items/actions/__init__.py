"""What can happen to items, by trade word."""

from .correcting import Correction, correct_link, tell_use_late, withdraw
from .counting import Counted, count_stock, explain_count
from .deciding import accept_lot, reject_lot, release_at_risk
from .holds import lift_hold, lift_holds, place_hold, place_holds
from .keeping import extend_life, log_keeping
from .labels import confirm_swap, renumber, write_swap
from .metering import meter_masses
from .moving import bring_back, move_item, return_frame
from .pots import Weighing, mix_pot
from .receiving import BookedRight, Delivery, correct_receipt, read_certificate, receive_lot
from .reworking import cut_coupon, put_in, take_out
from .stores import merge_lots, scrap, send_back, split_lot
from .swapping import swap_consigned
from .tanks import charge_tank, clean_tank, draw_tank, mount_lot, tell_wound
from .withdrawing import withdraw_hold, withdraw_move, withdraw_pot

__all__ = [
    "BookedRight",
    "Correction",
    "Counted",
    "Delivery",
    "Weighing",
    "accept_lot",
    "bring_back",
    "charge_tank",
    "clean_tank",
    "confirm_swap",
    "correct_link",
    "correct_receipt",
    "count_stock",
    "cut_coupon",
    "draw_tank",
    "explain_count",
    "extend_life",
    "lift_hold",
    "lift_holds",
    "log_keeping",
    "merge_lots",
    "meter_masses",
    "mix_pot",
    "mount_lot",
    "move_item",
    "place_hold",
    "place_holds",
    "put_in",
    "read_certificate",
    "receive_lot",
    "reject_lot",
    "release_at_risk",
    "renumber",
    "return_frame",
    "scrap",
    "send_back",
    "split_lot",
    "swap_consigned",
    "take_out",
    "tell_use_late",
    "tell_wound",
    "withdraw",
    "withdraw_hold",
    "withdraw_move",
    "withdraw_pot",
    "write_swap",
]
