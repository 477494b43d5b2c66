"""What a person states when setting up: plain values as written, before they become rows of a revision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

# What holds an item by itself when it comes up, and what that hold stops (scopes of items.Hold; 0: it does not hold).
# The numbers are a choice of this project, no source.
HOLDS_BY_DEFAULT: dict[str, int] = {
    "run-failed": 1,
    "measured-outside": 2,
    "leak-test-missing": 1,
    "leak-test-lapsed": 1,
    "not-vented": 1,
    "too-early": 1,
    "no-pot": 1,
    "held": 1,
    "expired": 1,
    "not-cleared": 1,
    "not-here": 1,
    "scrapped": 1,
    "already-used": 1,
    "out-of-order": 3,
    "not-qualified": 3,
    "over-drawn": 0,
    "not-booked-in": 0,
    "gauge-overdue": 0,
    "loop": 0,
    "not-thawed": 1,
    "not-acceptable": 1,
    "tank-held": 1,
    "tank-barred": 1,
    "told-alone": 1,
    "decided-before": 0,
    "wrong-carrier": 1,
    "carried-twice": 1,
    "old-carrier": 0,
    "no-carrier": 0,
    "passing-carrier": 0,
}


@dataclass(frozen=True)
class PersonSpec:
    """A person who may sign."""

    badge: str
    name: str = ""
    roles: Sequence[str] = ()
    password: str = ""
    pin: str = ""


@dataclass(frozen=True)
class CertificateSpec:
    """A value that a certificate must give, and where it must lie."""

    name: str
    unit: str = ""
    lower: str = ""
    upper: str = ""

    def __str__(self) -> str:
        return f"{self.name} {self.lower or '…'} to {self.upper or '…'} {self.unit}".strip()


@dataclass(frozen=True)
class PartSpec:
    """A part or material; what its data sheet and its certificate say of a lot of it."""

    number: str
    kind: str
    unit: str = ""
    name: str = ""
    prefix: str = ""
    opened_life: str = ""
    out_life: str = ""
    thaw: str = ""
    certificate: Sequence[CertificateSpec] = ()


@dataclass(frozen=True)
class MixSpec:
    """How a pot is mixed: ratio by weight of each part, tolerance as a share of the ratio.

    ``hot_from`` is the mixed mass from which the data sheet warns of heat.
    """

    mix: str
    part: str
    of: Mapping[str, str]
    tolerance: str
    pot_life_min: int
    hot_from: str = ""


@dataclass(frozen=True)
class TankSpec:
    """A tank or bin and the one part that it takes."""

    code: str
    part: str
    kind: str = "tank"


@dataclass(frozen=True)
class StationSpec:
    """A place of work."""

    code: str
    name: str = ""
    kind: str = ""


@dataclass(frozen=True)
class ToolSpec:
    """A tool."""

    code: str
    kind: str
    cycles_allowed: int | None = None


@dataclass(frozen=True)
class RecorderSpec:
    """An instrument that writes log files."""

    code: str
    kind: str = ""
    zone: str = ""


@dataclass(frozen=True)
class GaugeSpec:
    """A gauge or a scale, with its first due day."""

    code: str
    kind: str = ""
    unit_kind: str = ""
    due_on: date | None = None


@dataclass(frozen=True)
class CharacteristicSpec:
    """A measure on a part: nominal with plus and minus, or the limits themselves, as written."""

    name: str
    part: str
    unit: str
    nominal: str = ""
    plus: str = ""
    minus: str = ""
    lower: str = ""
    upper: str = ""
    decimals: int = 2
    gauge_kind: str = ""
    method: str = ""
    uncertainty: str = ""
    readings: int = 1
    worked_out: str = "mean"
    is_key: bool = False


@dataclass(frozen=True)
class InputSpec:
    """What goes in at an operation."""

    kind: str
    part: str = ""
    amount: str = ""


@dataclass(frozen=True)
class ReadingSpec:
    """A number read at an operation; with the unit "text" words, such as a programme's revision."""

    name: str
    unit: str
    lower: str = ""
    upper: str = ""


@dataclass(frozen=True)
class OperationSpec:
    """A step of a route. ``good_for_min`` is how long it holds what a check shows; nought where it does not lapse.

    ``rest_min`` is how long the unit rests after it, at least, before the next step; nought where that follows at once.
    ``carrier`` is what holds the unit's identity from here on; empty where it stays as it was.
    """

    name: str
    station_kind: str = ""
    tool_kind: str = ""
    caution: str = ""
    makes_safe: bool = False
    needs_qualification: bool = False
    inputs: Sequence[InputSpec] = ()
    readings: Sequence[ReadingSpec] = ()
    runs: Sequence[str] = ()
    measures: Sequence[str] = ()
    good_for_min: int = 0
    rest_min: int = 0
    carrier: str = ""


@dataclass(frozen=True)
class RouteSpec:
    """The operations of a part in order."""

    part: str
    operations: Sequence[OperationSpec]


@dataclass(frozen=True)
class RuleSpec:
    """One limit of a recipe."""

    feature: str
    unit: str
    role: str = ""
    level: str = ""
    level_unit: str = ""
    lower: str = ""
    upper: str = ""


@dataclass(frozen=True)
class RecipeSpec:
    """The limits a run is judged against."""

    recipe: str
    kind: str
    rules: Sequence[RuleSpec]


@dataclass(frozen=True)
class RulebookSpec:
    """Settings of the works. Without a cut-off every lot stays in the list."""

    cut_off: str = ""
    holds: Mapping[str, int] = field(default_factory=lambda: dict(HOLDS_BY_DEFAULT))


@dataclass(frozen=True)
class Opening:
    """Everything that an empty works is opened with."""

    name: str
    zone: str
    code: str = ""
    people: Sequence[PersonSpec] = ()
    stations: Sequence[StationSpec] = ()
    tools: Sequence[ToolSpec] = ()
    recorders: Sequence[RecorderSpec] = ()
    gauges: Sequence[GaugeSpec] = ()
    parts: Sequence[PartSpec] = ()
    mixes: Sequence[MixSpec] = ()
    tanks: Sequence[TankSpec] = ()
    characteristics: Sequence[CharacteristicSpec] = ()
    routes: Sequence[RouteSpec] = ()
    recipes: Sequence[RecipeSpec] = ()
    rulebook: RulebookSpec = field(default_factory=RulebookSpec)


Proposable = MixSpec | CharacteristicSpec | RouteSpec | RecipeSpec | RulebookSpec | PartSpec
