"""What is planted in the scenario, so that a good engineer can find it. The README beside tells it in words."""

from __future__ import annotations

from dataclasses import dataclass

from .works import BLADDERS, MOULDS

WORN_MOULD = MOULDS["front"][1]
COLD_MOULD = MOULDS["rear"][1]
LEAKING_BLADDER = BLADDERS[2]
BAD_RESIN_LOT = 3  # the third lot of resin that comes in
GAUGE_ERROR_MM = 0.08


@dataclass(frozen=True)
class Course:
    """Where in the whole course the present moment is, from 0 at the start to 1 at the end."""

    part: float

    @property
    def shell_wear_mm(self) -> float:
        """The worn mould's shells grow wider from the middle of the course on. [mm]"""
        return max(0.0, self.part - 0.4) * 0.3

    @property
    def mould_is_cold(self) -> bool:
        """The cold half lasts for a few days after the middle."""
        return 0.45 <= self.part < 0.65

    @property
    def gauge_is_out(self) -> bool:
        """The length bar was knocked before it was found out at its check."""
        return 0.55 <= self.part < 0.8
