"""What an assessment says: phases, checks, cautions, and the facts a person needs to believe or doubt it."""

from __future__ import annotations

from dataclasses import dataclass

from .features import Feature
from .recipe import Verdict

At = str | float | None


@dataclass(frozen=True)
class Phase:
    """A stretch of the run found in the curve. ``start_s`` and ``end_s`` count from the first row. [s]

    ``from_at`` and ``to_at`` are as times are told: RFC 3339, or seconds in a file without stamps.
    """

    name: str
    start_s: float
    end_s: float
    from_at: At = None
    to_at: At = None


@dataclass(frozen=True)
class Finding:
    """A value got from the curve with where it was got, or ``got`` None and the words why it is not shown.

    ``least`` and ``most`` bound a value that a gap leaves open; without a gap both are None.
    """

    got: float | None
    words: str = ""
    start_s: float | None = None
    end_s: float | None = None
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class Check:
    """One rule of the recipe against what the curve shows."""

    rule: str
    feature: Feature
    role: str
    got: float | None
    lower: float | None
    upper: float | None
    unit: str
    verdict: Verdict
    words: str
    from_at: At = None
    to_at: At = None
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True)
class ProbeFault:
    """A probe that was set aside from a moment on. [s]"""

    name: str
    from_s: float
    words: str


@dataclass(frozen=True)
class Leak:
    """The rise after the valve was shut. Slopes by least squares over the first and the last third.

    ``gas_load_mbar_l_per_s`` is V dp/dt of the last third, None without a volume.
    """

    start_s: float
    end_s: float
    samples: int
    early_mbar_per_min: float
    late_mbar_per_min: float
    ratio: float | None
    shape: str
    gas_load_mbar_l_per_s: float | None


@dataclass(frozen=True)
class Assessment:
    """How one log stands against one revision of a recipe. It never proves the part; a person releases it."""

    recipe: str
    revision: str
    verdict: Verdict
    phases: tuple[Phase, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    faults: tuple[ProbeFault, ...] = ()
    leak: Leak | None = None
