"""A lot's balance as one bar with the sum in words; below it the gap of the last count, drawn large, with its error."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from plant.quantities import UNITS

from .balancing import Balanced
from .models import CountReason
from .weighing import COVERAGE, two_figures

LEFT, WIDTH, NAMED = 10, 600, 96
GAP_WIDTH = 420  # so long are the gap and its error together


@dataclass(frozen=True)
class Piece:
    """A piece of the bar; its word is empty where there is no room for it. [px]"""

    kind: str
    left: float
    width: float
    word: str
    name: str


@dataclass(frozen=True)
class GapBar:
    """The gap drawn large, from where it lies in the bar, and how far off the weighings can be. [px]"""

    begins: float
    ends: float
    left: float
    width: float
    low: float
    high: float
    word: str
    error: str

    @property
    def right(self) -> float:
        return self.left + self.width


@dataclass(frozen=True)
class BalanceBar:
    """The bar, the sentence that it shows, the sum in words, and what the gap leaves room for."""

    finding: str
    words: str
    pieces: tuple[Piece, ...]
    gap: GapBar | None
    room: str
    basis: str
    explained: str
    has_packages: bool

    @property
    def height(self) -> int:
        return 140 if self.gap else 74


def balance_bar(found: Balanced) -> BalanceBar:
    """The picture of a balance."""
    pieces = _pieces(found)
    return BalanceBar(
        _finding(found),
        _sum_words(found),
        pieces,
        _gap_bar(found, pieces),
        _room(found),
        _basis(found),
        _explained(found),
        bool(found.apart),
    )


def balance_rows(found: Balanced) -> Iterator[Iterable[object]]:
    """A balance as the rows of a file, its heads first: every amount, the count, and the sum with its gap."""
    unit, kind = found.part.unit, found.part.unit_kind

    def plain(steps: float) -> Decimal:
        return Decimal(round(steps)) / UNITS[kind][unit]

    yield "What", "Amount", "Unit", "When", "Code", "Weighed on", "Standard uncertainty"
    for one in found.weighed:
        yield one.what, plain(one.steps), unit, one.at, one.code, one.error.scale, plain(one.error.standard)
    if found.count is not None:
        scale = found.count.scale.code if found.count.scale else ""
        yield "counted", plain(found.count.counted), unit, found.count.at, "", scale, ""
    yield "sum: left", plain(found.left), unit, "", "", "", ""
    if found.gap is not None:
        yield "sum: gap", plain(found.gap.amount), unit, "", "", "", plain(found.gap.expanded / COVERAGE)


def _finding(found: Balanced) -> str:
    gap, text, doubted = found.gap, found.amount, found.doubted
    if gap is not None and doubted and found.one_use:
        fits = gap.room_for(found.one_use)
        if fits >= doubted:
            stay = "it stays" if doubted == 1 else "they stay"
            return f"There is room for the {doubted} that nobody scanned, so {stay} on the list"
        return f"The gap has room for {fits or 'none'} of the {doubted} that nobody scanned; all stay on the list"
    if found.sums.left < 0:
        return f"{text(-found.sums.left)} more was taken than came in: an amount or a scan is wrong"
    if gap is not None and gap.is_beyond:
        what = "is missing" if gap.amount > 0 else "is there too much"
        return f"{text(abs(gap.amount))} {what}: more than the weighings can be off"
    if gap is not None:
        return f"{text(found.left)} is left; the count agrees with the records as far as weighing can tell"
    if found.sums.left == 0 and found.apart:
        return "None of it is left but in its packages: each of them has its own balance"
    if found.sums.left == 0 and found.moved:
        return "None of it is left here: what was moved to other lots has its balance there"
    if found.sums.left == 0:
        return "By the records all of it is used up"
    return f"By the records {text(found.sums.left)} is left"


def _sum_words(found: Balanced) -> str:
    """Received = used + left + packages apart + other lots + waste + sent back + gap."""
    sums, text = found.sums, found.amount
    told = [f"{text(sums.received)} came in = {text(found.used)} used", f"{text(found.left)} left"]
    told += [f"{text(found.apart)} in packages of its own"] if found.apart else []
    told += [f"{text(found.moved)} moved to other lots"] if found.moved else []
    told += [f"{text(sums.waste)} written off"] if sums.waste else []
    told += [f"{text(sums.back)} sent back"] if sums.back else []
    told += [f"a gap of {text(found.gap.amount)} ± {text(two_figures(found.gap.expanded))}"] if found.gap else []
    return " + ".join(told) + "."


def _pieces(found: Balanced) -> tuple[Piece, ...]:
    sums = found.sums
    gap = max(found.gap.amount, 0) if found.gap else 0
    parts = [
        ("left", max(found.left, 0), "left, counted" if found.count else "left"),
        ("drawn", found.used, "used"),
        ("apart", found.apart, "in packages"),
        ("moved", found.moved, "in other lots"),
        ("waste", sums.waste, "written off"),
        ("back", sums.back, "sent back"),
        ("gap", gap, "gap"),
    ]
    whole = max(sums.received, sum(steps for _, steps, _ in parts))
    pieces, at = [], float(LEFT)
    for kind, steps, name in parts:
        width = round(steps / whole * WIDTH, 1)
        if width:
            word = found.amount(steps) if width >= NAMED else ""
            pieces.append(Piece(kind, round(at, 1), width, word, name))
        at += width
    return tuple(pieces)


def _gap_bar(found: Balanced, pieces: tuple[Piece, ...]) -> GapBar | None:
    """The gap of a count where something is missing, its own scale: bar and error fill the same width always."""
    gap = found.gap
    if gap is None or gap.amount <= 0:
        return None
    scale = GAP_WIDTH / (gap.amount + gap.expanded)
    width = gap.amount * scale
    piece = next((piece for piece in pieces if piece.kind == "gap"), None)
    begins = piece.left if piece else LEFT + WIDTH
    left = 80.0
    return GapBar(
        begins=begins,
        ends=begins + (piece.width if piece else 0),
        left=left,
        width=round(width, 1),
        low=round(left + max(width - gap.expanded * scale, 0), 1),
        high=round(left + width + gap.expanded * scale, 1),
        word=f"gap {found.amount(gap.amount)}",
        error=f"± {found.amount(two_figures(gap.expanded))}",
    )


def _room(found: Balanced) -> str:
    """What the gap has room for; nothing where nobody counted or nothing was used yet."""
    if found.gap is None or not found.one_use:
        return ""
    one = found.amount(found.one_use)
    fits = found.gap.room_for(found.one_use)
    if found.doubted:
        need = found.amount(found.one_use * found.doubted)
        return (
            f"One use takes about {one}; {found.doubted} would need {need}. Weighing alone takes nothing off the list."
        )
    return f"One use takes about {one}: the gap has room for {fits or 'none'} that nobody logged."


def _basis(found: Balanced) -> str:
    """What the error rests on."""
    if found.gap is None:
        return "" if found.sums.left <= 0 else "Nobody has counted what is left, so a gap can’t be told."
    n = sum(bool(one.error.standard) for one in found.weighed)
    if not n:
        return "Counted in pieces, or no scale of the works is calibrated: no weighing error is told."
    scales = sorted({one.error.scale for one in found.weighed if one.error.standard} | {found.counted_on} - {""})
    return (
        f"± is twice the standard uncertainty of {n + 1} weighings together, on {' and '.join(scales)}: the scale that "
        "was told with each, else the coarsest of the works. What the display can show adds by squares; what a "
        "calibration leaves open is the same at each weighing on one scale and adds up."
    )


def _explained(found: Balanced) -> str:
    """Why the count differs, as somebody has said, or that it waits for a reason; and what was told since of before."""
    count, gap = found.count, found.gap
    if count is None or gap is None:
        return ""
    told, reason = [], getattr(count, "explained", None)
    if reason is not None:
        words = f": “{reason.words}”" if reason.words else ""
        gone = ", and written off" if reason.why == CountReason.Why.LOST and gap.amount <= 0 else ""
        told.append(f"Explained as {reason.get_why_display()}{words}{gone}.")
    elif count.difference:
        told.append("The difference waits for a reason.")
    due = count.counted + gap.amount
    if due != count.expected and not (told and told[0].endswith(", and written off.")):
        said, now = found.amount(count.expected), found.amount(due)
        told.append(f"At the count the records said {said}; by what was told since they say {now} of that moment.")
    return " ".join(told)
