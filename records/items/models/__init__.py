"""Everything with an identity: where it is, what it is made from, and what may not be done with it."""

from .holds import Hold, HoldLift, LabelSwap, SwapConfirm
from .links import FeedEntry, FeedUse, Link, TankEntry, TankLock
from .places import Consignment, ConsignmentLine, CustomerReturn, Move
from .things import (
    CertificateValue,
    CodeCounter,
    Evidence,
    Item,
    ItemCode,
    ItemState,
    Loss,
    LotDecision,
    Place,
    Receipt,
)

__all__ = [
    "CertificateValue",
    "CodeCounter",
    "Consignment",
    "ConsignmentLine",
    "CustomerReturn",
    "Evidence",
    "FeedEntry",
    "FeedUse",
    "Hold",
    "HoldLift",
    "Item",
    "ItemCode",
    "ItemState",
    "LabelSwap",
    "Link",
    "Loss",
    "LotDecision",
    "Move",
    "Place",
    "Receipt",
    "SwapConfirm",
    "TankEntry",
    "TankLock",
]
