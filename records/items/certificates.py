"""Values of a supplier's certificate against what the part asks for. No Django.

On a limit is inside. A value in another unit than the limit's, or one that is no number, is not judged: it can't be
accepted as it is, and nobody guesses what was meant.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from plant.quantities import millionths, print_millionths
from records.ledger.refusals import Refused

WITHIN, OUTSIDE, MISSING, UNREAD, NO_LIMIT = "within", "outside", "missing", "unread", "no-limit"


@dataclass(frozen=True)
class Asked:
    """What a certificate must say of a value. [millionths of the unit]"""

    name: str
    unit: str = ""
    lower: int | None = None
    upper: int | None = None

    @property
    def words(self) -> str:
        """The limits as people read them."""
        unit = f" {self.unit}" if self.unit else ""
        if self.lower is None:
            return f"at most {print_millionths(self.upper or 0)}{unit}"
        if self.upper is None:
            return f"at least {print_millionths(self.lower)}{unit}"
        return f"{print_millionths(self.lower)} to {print_millionths(self.upper)}{unit}"


@dataclass(frozen=True)
class Given:
    """A value as the certificate gives it."""

    name: str
    written: str
    unit: str = ""


@dataclass(frozen=True)
class Judged:
    """A value of a certificate with its limits and its verdict; empty where it is missing. [millionths of the unit]"""

    name: str
    written: str
    unit: str
    verdict: str
    limits: str = ""
    value: int | None = None
    lower: int | None = None
    upper: int | None = None

    @property
    def is_open(self) -> bool:
        """Whether it stands against accepting the lot."""
        return self.verdict in (OUTSIDE, MISSING, UNREAD)

    @property
    def words(self) -> str:
        """What is wrong with it, as a sentence; empty where nothing is."""
        told = f"{self.name[:1].upper()}{self.name[1:]} is {self.written} {self.unit}".strip()
        return {
            OUTSIDE: f"{told}; asked is {self.limits}.",
            UNREAD: f"{told}, which can’t be compared with {self.limits}.",
        }.get(self.verdict, "")


def judged(values: Iterable[Given], limits: Sequence[Asked]) -> list[Judged]:
    """Each value asked for, in the order asked, then what else the certificate says.

    Of two values of one name the later counts: a certificate that follows puts right the one before.

    Examples
    --------
    >>> asked = [Asked("viscosity", "mPa s", 250_000_000, 400_000_000)]
    >>> [one.verdict for one in judged([Given("viscosity", "400", "mPa s")], asked)]
    ['within']
    >>> judged([Given("Viscosity", "400,1", "mPa s")], asked)[0].words
    'Viscosity is 400,1 mPa s; asked is 250 to 400 mPa s.'
    >>> judged([], asked)[0].verdict
    'missing'
    """
    given = {_key(one.name): one for one in values}
    rows = [_judge(given.pop(_key(limit.name), None), limit) for limit in limits]
    return rows + [Judged(one.name, one.written, one.unit, NO_LIMIT) for one in given.values()]


def _judge(value: Given | None, limit: Asked) -> Judged:
    if value is None:
        return Judged(limit.name, "", limit.unit, MISSING, limit.words)
    steps = _steps(value, limit)
    if steps is None:
        return Judged(limit.name, value.written, value.unit, UNREAD, limit.words)
    is_low = limit.lower is not None and steps < limit.lower
    is_high = limit.upper is not None and steps > limit.upper
    verdict = OUTSIDE if is_low or is_high else WITHIN
    return Judged(limit.name, value.written, value.unit, verdict, limit.words, steps, limit.lower, limit.upper)


def _steps(value: Given, limit: Asked) -> int | None:
    if "".join(value.unit.split()) != "".join(limit.unit.split()):  # mPa and MPa are not one
        return None
    try:
        return millionths(value.written)
    except Refused:
        return None


def _key(text: str) -> str:
    """A name without blanks and case."""
    return "".join(text.split()).casefold()
