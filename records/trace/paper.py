"""The lot-to-frames list on paper: where a thing went, as known at a mark, with strands into the rows of its frames."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from reportlab.platypus import Flowable, Spacer

from plant.catalogue.models import Part
from plant.catalogue.queries import cut_off_ppb
from plant.papers import page
from plant.papers.page import Heading, Made, make
from plant.papers.pen import INK, Pen, Stroke
from plant.papers.pieces import Lacking, Paper, symbol_picture
from plant.papers.rows import ANY_HEIGHT, Cell, Column, Row, Rows
from plant.people.letterhead import heading_of
from plant.quantities import print_share
from plant.templatetags.showing import percent
from records.items.models import Item
from records.items.queries import IN, OUT, SCRAPPED, SHIPPED, holds_on, item_by_code, names_of
from records.ledger.clock import clock
from records.ledger.marks import Mark
from records.ledger.memory import remembering
from records.ledger.models import Unplaced, UnplacedSettled
from records.ledger.position import position_of
from records.ledger.refusals import Refused

from .bundling import WIDTH as BUNDLE_WIDTH
from .bundling import Bundle, bundles, strands_of
from .finding import code_of
from .labelling import CONFIRMED
from .listing import Lists, lists_of, places_of
from .queries import Answer, Asked, Found, where_used
from .strands import MOST_ROWS, ROW, Strands, strands
from .telling import finding, told_answer

SCALE = 0.46
STRANDS = 300 * SCALE
Strand = TypeVar("Strand")
CAUTION = (
    "Full strand: scanned or weighed on the whole way. Broken strand: one scan or share on the way is in doubt. "
    "What was used and never told of is in no record. A frame that is not on this list is not thereby proved safe."
)


@dataclass(frozen=True)
class FrameList:
    """The facts of a list: the trace, its lists, and what the answer rests on."""

    heading: Heading
    what: str
    is_held: bool
    finding: str
    answer: Answer
    lists: Lists
    unplaced: int


def item_for_list(code: str, mark: Mark) -> Item:
    """The thing with a code that was on file at a mark. Refuses ``unknown``."""
    item = item_by_code(code_of(code))
    if not names_of([item.pk], mark):
        raise Refused("unknown", "%(code)s was not on file then. Ask for a later moment.", code=item.code)
    return item


def frame_list_of(code: str, mark: Mark) -> FrameList:
    """List of where the thing with a code went. Refuses ``unknown``."""
    with remembering():
        item = item_for_list(code, mark)
        # The share from which on the works lists, as it stood at the mark: a paper never asks what time it is.
        cut_off = cut_off_ppb(position_of(mark).taken_at or clock.now()) or 0
        answer = where_used(names_of([item.pk], mark)[item.pk].code, Asked(mark, cut_off_ppb=cut_off))
        settled = UnplacedSettled.objects.known(mark).values("unplaced")
        kind = str(Part.Kind(item.part.kind).label)
        return FrameList(
            heading=heading_of(f"Where {kind} {answer.names.code} went", mark, is_wide=True),
            what=" ".join(word for word in (kind.capitalize(), item.part.number, item.part.name) if word),
            is_held=bool(holds_on([item.pk], mark)),
            finding=finding(told_answer("whereused", answer, None)),
            answer=answer,
            lists=lists_of(answer),
            unplaced=Unplaced.objects.known(mark).exclude(pk__in=settled).count(),
        )


def frame_list_pdf(facts: FrameList) -> Made:
    """The file of a list; the same facts make the same bytes."""
    paper, lists = Paper(), facts.lists
    story: list[Flowable] = [
        *_head(paper, facts),
        *_frames(paper, lists.frames),
        *_others(paper, "Not yet a frame", lists.loose, "Nothing else on file holds it outside the frames above."),
        *_others(paper, "Used up by the records", lists.spent),
        *_others(paper, "Inside something listed above", lists.inside),
        *_others(paper, f"Below the cut-off of {print_share(facts.answer.cut_off_ppb or 0)}", facts.answer.below),
        Spacer(0, 8),
        Lacking(paper),
        paper.strong(f"End of the list of {facts.answer.names.code}."),
    ]
    return make(facts.heading, story, paper.letters)


def _head(paper: Paper, facts: FrameList) -> Iterator[Flowable]:
    answer, lists = facts.answer, facts.lists
    title: Cell = [paper.words(facts.finding, page.TITLE), paper.words(f"{facts.what}, {answer.names.code}.")]
    title += [paper.soft(f"Once {old}.") for old in answer.names.once]
    if facts.is_held:
        title.append(paper.state("held", f"{answer.names.code} is held"))
    counts = [("Frames", lists.where), ("Not yet a frame", lists.what)]
    title += [paper.words(f"{word}: {', '.join(counted)}.") for word, counted in counts if counted]
    if lists.held:
        title.append(paper.words(f"Held among these: {lists.held}."))
    side = 58.0
    row = Row([title, [symbol_picture(answer.names.code, side)]], has_rule=False)
    yield paper.table([Column("", facts.heading.width - side - 10), Column("", side + 3)], [row])
    yield Spacer(0, 4)
    yield paper.note(*_rests(paper, facts))


def _rests(paper: Paper, facts: FrameList) -> Iterator[Flowable]:
    yield paper.strong(facts.heading.known)
    unplaced = "Every entry that was sent could be placed."
    if facts.unplaced:
        entries = "1 entry" if facts.unplaced == 1 else f"{facts.unplaced} entries"
        unplaced = f"{entries} could not be placed and may belong here."
    cut_off = facts.answer.cut_off_ppb
    shares = "Every share is listed."
    if cut_off:
        shares = f"Shares below {print_share(cut_off)} are counted apart: {len(facts.answer.below)}."
    yield paper.words(f"{unplaced} {shares}")
    yield paper.words(CAUTION)
    for loop in facts.answer.loops:
        words = "These are each made from each other, so one of the links is wrong"
        yield paper.state("signal", f"{words}: {', '.join(loop)}.")


_COLUMNS = [
    Column("Code", 2.6),
    Column("Part", 1.4),
    Column("By way of", 3.4),
    Column("How sure", 2.2),
    Column("Share", 1.2, is_number=True),
    Column("Where", 3),
    Column("", 1),
]

_BUNDLE_COLUMNS = [
    Column("Through", 3.9),
    Column("Frames", 0.9, is_number=True),
    Column("Have it", 0.9, is_number=True),
    Column("Can’t rule out", 1.2, is_number=True),
    Column("Where", 5),
]


def _frames(paper: Paper, frames: Sequence[Found]) -> Iterator[Flowable]:
    yield from paper.section(f"Frames: {len(frames)}")
    if not frames:
        yield paper.soft("No frame on file holds it.")
    elif len(frames) <= MOST_ROWS:
        yield Strung(paper, frames, _ONE_BY_ONE)
    else:
        yield paper.soft("In the order of what it went into first: together as strands, then one by one.")
        yield Strung(paper, bundles(frames), _TOGETHER)
        yield Spacer(0, 10)
        yield paper.table(_COLUMNS, [_row(paper, found) for found in frames])


def _others(paper: Paper, title: str, rows: Sequence[Found], none: str = "") -> Iterator[Flowable]:
    if rows or none:
        yield from paper.section(f"{title}: {len(rows)}")
        yield paper.table(_COLUMNS, [_row(paper, found) for found in rows]) if rows else paper.soft(none)


def _row(paper: Paper, found: Found, least: float = 0) -> Row:
    code: Cell = [paper.code(found.code)]
    code += [paper.soft(f"once {old}") for old in found.names.once]
    cells: list[Cell] = [
        code,
        [paper.words(found.part)],
        [paper.soft(", ".join(found.between) or "straight")],
        [paper.how_sure(is_sure=found.cls == CONFIRMED)],
        [paper.number(percent(found.share_ppb))],
        [paper.state("scrapped") if found.state == SCRAPPED else paper.words(where_words(found))],
        [paper.state("held")] if found.held else [],
    ]
    return Row(cells, least=least)


def where_words(found: Found) -> str:
    """Where a found thing is, in words."""
    if found.at is None:
        return "not said"
    return {SHIPPED: "with ", OUT: "out at ", IN: "in "}.get(found.state, "") + found.at


def _bundle_row(paper: Paper, bundle: Bundle[Found], least: float = 0) -> Row:
    through = bundle.first if bundle.first == bundle.last else f"{bundle.first} to {bundle.last}"
    cells: list[Cell] = [
        [paper.code(through or "straight")],
        [paper.number(str(len(bundle.rows)))],
        [paper.number(str(bundle.sure))],
        [paper.number(str(bundle.doubt))],
        [paper.words(places_of(bundle))],
    ]
    return Row(cells, least=least)


@dataclass(frozen=True)
class Stringing(Generic[Strand]):
    """How rows of one kind are printed and how the strands that run into them are drawn."""

    columns: Sequence[Column]
    row: Callable[[Paper, Strand, float], Row]
    drawing: Callable[[Sequence[Strand], float], Strands | None]
    width: float


_ONE_BY_ONE: Stringing[Found] = Stringing(_COLUMNS, _row, strands, STRANDS)
_TOGETHER: Stringing[Bundle[Found]] = Stringing(_BUNDLE_COLUMNS, _bundle_row, strands_of, BUNDLE_WIDTH * SCALE)


class Strung(Flowable, Generic[Strand]):
    """Rows of one height, with the strands that run into them; each page draws the strands of its own."""

    def __init__(self, paper: Paper, found: Sequence[Strand], how: Stringing[Strand], row_height: float = 0) -> None:
        super().__init__()
        self._paper, self._found, self._how, self._row_height = paper, found, how, row_height
        self._rows: Rows | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        room = width - self._how.width
        if not self._row_height:
            plain = [self._how.row(self._paper, found, 0) for found in self._found]
            widths = self._table(plain).widths(room)
            self._row_height = max(ROW * SCALE, *(row.height(widths) for row in plain))
        self._rows = self._table([self._how.row(self._paper, found, self._row_height) for found in self._found])
        self.width, self.height = width, self._rows.wrap(room, ANY_HEIGHT)[1]
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        _, tall = self.wrap(width, height)
        count = int((height - (tall - self._row_height * len(self._found))) // self._row_height)
        if not 0 < count < len(self._found):
            return []
        halves = (self._found[:count], self._found[count:])
        return [Strung(self._paper, half, self._how, self._row_height) for half in halves]

    def draw(self) -> None:
        assert self._rows is not None  # wrapping has made it
        self._rows.drawOn(self.canv, self._how.width, 0)
        drawing = self._how.drawing(self._found, self._row_height / SCALE)
        if drawing is not None:
            draw_strands(Pen(self.canv, 0, drawing.height * SCALE, SCALE, self._paper.letters), drawing)

    def _table(self, rows: Sequence[Row]) -> Rows:
        return self._paper.table(self._how.columns, rows)


def draw_strands(pen: Pen, drawing: Strands) -> None:
    """Strands from the lot through what it went into first, in black."""
    for line in drawing.lines:
        pen.line(line.path, Stroke(max(line.thickness, 2.6), (5, 4) if line.is_broken else ()))
    for box in drawing.boxes:
        pen.box(box.left, box.top, box.width, box.height, fill=page.PAPER, line=2)
        pen.words(box.left + box.width / 2, box.top + box.height / 2 + 5, box.word, 14, page.CODE_FACE, side="middle")
    root = drawing.root
    pen.box(root.left, root.top, root.width, root.height, fill=INK)
    pen.canvas.setFillColor(page.PAPER)
    pen.words(root.left + root.width / 2, root.top + root.height / 2 + 5, root.word, 14, page.CODE_FACE, side="middle")
    pen.canvas.setFillColor(INK)
