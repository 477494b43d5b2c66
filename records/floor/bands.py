"""The band of a number that is asked on the floor: its limits in words, in a picture, and against what was typed."""

from __future__ import annotations

from dataclasses import dataclass

from plant.pictures import gauge as gauge_picture
from plant.quantities import print_steps, steps_of
from plant.speaking import say
from records.inspection.judging import judge
from records.ledger.refusals import Refused


@dataclass(frozen=True)
class Band:
    """Limits of a number in whole steps, what is aimed at, and its unit as written."""

    unit: str
    unit_kind: str
    lower: int | None = None
    upper: int | None = None
    aim: int | None = None
    finest: int = 1  # limits are shown in whole multiples of this, never wider than they are [steps]

    def printed(self, steps: int | None) -> str:
        """A number in the unit of the band; empty for none."""
        return "" if steps is None else print_steps(steps, self.unit, self.unit_kind)

    @property
    def words(self) -> str:
        """Limits in words, "55 to 65 °C"; empty where there are none."""
        low, high = self.low, self.high
        if not low and not high:
            return ""
        if not low or not high:
            if not low:
                return say("at most %(high)s %(unit)s", high=high, unit=self.unit)
            return say("at least %(low)s %(unit)s", low=low, unit=self.unit)
        return say("%(low)s to %(high)s %(unit)s", low=low, high=high, unit=self.unit)

    @property
    def low(self) -> str:
        return "" if self.lower is None else self.printed(-(-self.lower // self.finest) * self.finest)

    @property
    def high(self) -> str:
        return "" if self.upper is None else self.printed(self.upper // self.finest * self.finest)

    @property
    def aimed(self) -> str:
        return "" if self.aim is None else self.printed((self.aim + self.finest // 2) // self.finest * self.finest)

    @property
    def may_be_negative(self) -> bool:
        """Whether a minus sign is wanted on the number pad."""
        return self.low.startswith("-") or self.high.startswith("-")

    def read(self, text: str) -> int | None:
        """Steps of what was typed; nothing where it is no number yet."""
        try:
            return steps_of(text, self.unit, self.unit_kind)
        except Refused:
            return None

    def verdict(self, text: str) -> str:
        """Verdict on what was typed; empty where there is none to give."""
        steps = self.read(text)
        return "" if steps is None or not self.words else judge(steps, self.lower, self.upper).value

    def picture(self, text: str = "") -> gauge_picture.Gauge | None:
        """The wide gauge, with a dot where what was typed stands."""
        steps = self.read(text)
        value = float(self.printed(steps)) if steps is not None else None
        low, high, aim = (float(word) if word else None for word in (self.low, self.high, self.aimed))
        return gauge_picture.gauge(low, high, value=value, aim=aim)

    def outside(self, text: str) -> str:
        """How far a reading lies outside, "52.6 °C is 2.4 °C below the band."; empty inside."""
        steps = steps_of(text, self.unit, self.unit_kind)
        if not judge(steps, self.lower, self.upper).is_outside:
            return ""
        is_below = self.lower is not None and steps < self.lower
        off = -(-abs(steps - ((self.lower if is_below else self.upper) or 0)) // self.finest) * self.finest
        away = print_steps(off, self.unit, self.unit_kind, difference=True)
        told = {"value": text, "unit": self.unit, "away": away}
        if is_below:
            return say("%(value)s %(unit)s is %(away)s %(unit)s below the band.", **told)
        return say("%(value)s %(unit)s is %(away)s %(unit)s above the band.", **told)
