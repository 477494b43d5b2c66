"""Verification: every entry, row, leaf, head, trigger and state held against what the others say of it."""

from .checking import verify
from .faults import Fault, Noted, Tree, Verified

__all__ = ["Fault", "Noted", "Tree", "Verified", "verify"]
