"""What failed frames share, as its page tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.urls import reverse

from plant.catalogue.models import Part
from records.items.models import Item, ItemCode

from .comparing import Trait, rank_shared
from .suspects import Suspect, tied_first

MOST = 20


@dataclass(frozen=True)
class Shared:
    """One trait: what it is, how it lies among failed and other frames, and where to look next."""

    what: str
    code: str
    page: str
    suspect: Suspect[Trait]

    @property
    def chance(self) -> str:
        """The chance of as many failed ones with it, where it made no difference."""
        return _percent(self.suspect.p)

    @property
    def adjusted(self) -> str:
        """The same, put right for as many traits as were looked at."""
        return _percent(self.suspect.adjusted)

    @property
    def odds(self) -> str:
        """Odds ratio with its 95 % interval."""
        odds = self.suspect.odds
        return f"{odds.ratio:.1f} ({odds.low:.1f} to {odds.high:.0f})"


def _percent(chance: float) -> str:
    return "under 0.1 %" if chance < 0.001 else f"{100 * chance:.1f} %"


@dataclass(frozen=True)
class Comparison:
    """The finding in one sentence, the ranked rows, and how many frames and traits were looked at."""

    finding: str
    rows: tuple[Shared, ...]
    bad: int
    good: int
    traits: int


def compare(frames: Sequence[Item], among: Sequence[str], days: int) -> Comparison:
    """What the frames share that others of their time do not."""
    ranked = rank_shared(frames, among, around=timedelta(days=days))
    if not ranked:
        return Comparison("Nothing on file is in these frames", (), len(frames), 0, 0)
    first = ranked[0]
    good = first.good_with + first.good_without
    kinds = dict(
        ItemCode.objects.filter(code__in=[s.trait[1] for s in ranked[:MOST]]).values_list(
            "code", "item__revision__part__kind"
        )
    )
    rows = tuple(_shared(suspect, kinds) for suspect in ranked[:MOST])
    return Comparison(_finding(ranked, good), rows, len(frames), good, len(ranked))


def _finding(ranked: Sequence[Suspect[Trait]], good: int) -> str:
    first, tied = ranked[0], tied_first(ranked)
    if good == 0:
        return "Nothing to compare with: no other frame was bonded in these days"
    if first.adjusted > 0.5:  # more likely than not a find by luck
        return "Nothing stands out: what they share, others of their time have too"
    bad = first.bad_with + first.bad_without
    more = f", and {len(tied) - 1} more cannot be told from it" if len(tied) > 1 else ""
    return f"{first.trait[1]} is in {first.bad_with} of {bad} failed and {first.good_with} of {good} others{more}"


def _shared(suspect: Suspect[Trait], kinds: dict[str, str]) -> Shared:
    kind, code = suspect.trait
    if kind == "lot":
        return Shared(str(Part.Kind(kinds[code]).label), code, reverse("trace:lot_to_frames", args=[code]), suspect)
    return Shared(kind, code, f"{reverse('trace:find')}?code={code}", suspect)
