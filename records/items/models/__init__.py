"""Everything with an identity: where it is, what it is made from, and what may not be done with it."""

from .codes import CodeCounter, HouseCodeField
from .counts import CountReason, StockCount
from .holds import Hold, HoldLift, LabelSwap, SwapConfirm
from .keeping import LifeEntry, LifeExtension
from .links import DoubtMoved, FeedEntry, FeedUse, Link, TankEntry, TankLock, WeighedOn
from .places import Consignment, ConsignmentLine, ConsignmentSwap, CustomerReturn, Move
from .things import (
    ArrivalFinding,
    CertificateValue,
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
    "ArrivalFinding",
    "CertificateValue",
    "CodeCounter",
    "Consignment",
    "ConsignmentLine",
    "ConsignmentSwap",
    "CountReason",
    "CustomerReturn",
    "DoubtMoved",
    "Evidence",
    "FeedEntry",
    "FeedUse",
    "Hold",
    "HoldLift",
    "HouseCodeField",
    "Item",
    "ItemCode",
    "ItemState",
    "LabelSwap",
    "LifeEntry",
    "LifeExtension",
    "Link",
    "Loss",
    "LotDecision",
    "Move",
    "Place",
    "Receipt",
    "StockCount",
    "SwapConfirm",
    "TankEntry",
    "TankLock",
    "WeighedOn",
]
