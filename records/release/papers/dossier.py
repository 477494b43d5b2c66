"""The dossier on paper: who the unit is, what went in, what was done, measured, decided and put right."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import CondPageBreak, Flowable, Spacer

from plant.papers import page
from plant.papers.page import Made, make
from plant.papers.pieces import Lacking, Paper
from plant.papers.rows import Cell, Column, Row
from plant.people.letterhead import at_works
from plant.templatetags.showing import percent
from records.items.reasons import reason_words
from records.runs.showing import CheckRow
from records.steps.models import UnitCarrier
from records.trace.content import Content
from records.trace.history import Decided, Measured
from records.trace.labelling import CONFIRMED
from records.trace.way import Happening

from .corrections import Corrected
from .curves import Curves
from .dossier_facts import Dossier, Way
from .head import head_of
from .runs import RunTold

CAUTION = (
    "This dossier shows what was recorded. Records never prove that a frame is safe: a responsible person releases it. "
    "Suppliers’ data sheets, the standards that apply to frames, and local rules come first."
)


def dossier_pdf(facts: Dossier) -> Made:
    """The file of a dossier; the same facts make the same bytes."""
    paper = Paper()
    story = [
        *head_of(paper, facts.unit, "Dossier"),
        Spacer(0, 6),
        paper.note(paper.words(CAUTION)),
        *_gate(paper, facts),
        *_content(paper, facts),
        *_steps(paper, facts),
        *_carriers(paper, facts),
        *_runs(paper, facts),
        *_measured(paper, facts),
        *_decisions(paper, facts),
        *_corrections(paper, facts),
        *_flags(paper, facts),
        *_revisions(paper, facts),
        *_rests(paper, facts),
    ]
    return make(facts.unit.heading, story, paper.letters)


def _gate(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section("What its route asks for before release")
    if not facts.gate:
        yield paper.soft("Its part has no route, so nothing is asked for.")
        return
    rows = []
    for line in facts.gate:
        name = reason_words(line.name) if line.what == "hold" else line.name
        state = paper.state("done") if line.is_done_step else paper.state(line.verdict)
        rows.append(Row([[paper.words(line.what.capitalize())], [paper.words(name)], [state]]))
    yield paper.table([Column("What", 1), Column("Name", 3), Column("How it stands", 2)], rows)


_CONTENT = [
    Column("Code", 2.3),
    Column("What, from whom", 3.5),
    Column("By way of", 2.3),
    Column("How sure", 2.7),
    Column("Share", 1.25, is_number=True),
    Column("How it stands", 2.0),
]


def _content(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"What went in: {len(facts.content)}")
    yield paper.soft(
        "Full strand: scanned or weighed on the whole way. Broken strand: it can’t be ruled out. "
        "What was taken out or proved wrong stays listed. What was used and never told of is in no record."
    )
    if not facts.content:
        yield paper.words("It came in as it is; nothing on file went into it.")
        return
    yield paper.table(_CONTENT, [_content_row(paper, facts, row) for row in facts.content])


def _content_row(paper: Paper, facts: Dossier, row: Content) -> Row:
    found = row.found
    what: Cell = [paper.words(f"{row.kind.capitalize()} {found.part}")]
    if found.item in facts.deliveries:
        what.append(paper.soft(facts.deliveries[found.item]))
    code: Cell = [paper.code(found.code)]
    code += [paper.soft(f"once {old}") for old in found.names.once]
    way = [paper.soft(", ".join(row.by_way_of) or ("straight" if row.is_near else ""))]
    if found.ended:
        sure: Cell = [paper.state("ended")]
    else:
        sure = [paper.how_sure(is_sure=found.cls == CONFIRMED)]
    share = [paper.number(percent(found.share_ppb))]
    stands: Cell = [paper.state(state) for state in ("held" if found.held else "", row.decision) if state]
    return Row([code, what, way, sure, share, stands])


def _steps(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section("What was done, in order")
    for way in facts.ways:
        if len(way.happenings) > SHORT_WAY:
            yield from paper.part(f"{way.kind.capitalize()} {way.code}")
            yield paper.table(_WAY, [_happening_row(paper, happening) for happening in way.happenings])
    short = [way for way in facts.ways if len(way.happenings) <= SHORT_WAY]
    if short:
        yield from paper.part("Units of one or two steps")
        yield paper.table(_WAY, [row for way in short for row in _short_way(paper, way)])


# Units of one step, such as preforms, stand together.
SHORT_WAY = 2
_WAY = [Column("", 1.3), Column("", 2), Column("", 3.4)]


def _short_way(paper: Paper, way: Way) -> Iterator[Row]:
    head = f"{way.kind.capitalize()} {way.code}"
    if not way.happenings:
        yield Row([[], [paper.strong(head)], [paper.soft("Nothing is on file but its birth.")]])
    for happening in way.happenings:
        yield _happening_row(paper, happening, f"{head}, ")


def _happening_row(paper: Paper, happening: Happening, of: str = "") -> Row:
    words = f"{of}{happening.what}"
    what = paper.state(happening.state, words[:1].upper() + words[1:])
    short = [word for word in happening.told if len(word) <= LONG_WORDS]
    long: Cell = [paper.words(f"“{word}”") for word in happening.told if len(word) > LONG_WORDS]
    return Row([[paper.soft(at_works(happening.at))], [what], [paper.soft(", ".join(short))]], long)


def _carriers(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    """What held the identity of each unit; nothing where its works keeps none."""
    if not facts.carriers:
        return
    yield from paper.section("What it was known by")
    columns = [Column("Unit", 2.3), Column("By", 3), Column("From", 1.6), Column("To", 2.4)]
    yield paper.table(columns, [_carrier_row(paper, code, row) for code, row in facts.carriers])


def _carrier_row(paper: Paper, code: str, row: UnitCarrier) -> Row:
    kind = str(row.get_kind_display())
    read = row.code + (f", label {row.copy}" if row.copy else "")
    by: Cell = [paper.words(kind[:1].upper() + kind[1:]), paper.soft(read if row.is_own else f"{read}: another unit’s")]
    to = at_works(row.ended_at) if row.ended_at else "on it"
    why = reason_words(row.reason) if row.reason and row.ended_at else ""
    return Row(
        [[paper.code(code)], by, [paper.soft(at_works(row.began_at))], [paper.soft(f"{to}, {why}" if why else to)]]
    )


# Longer words stand below their row over the whole width.
LONG_WORDS = 160


def _runs(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"Runs: {len(facts.runs)}", ROOM_FOR_A_RUN if facts.runs else 0)
    if not facts.runs:
        yield paper.soft("No run is on file for it or for what is joined in it.")
        return
    yield paper.soft("A run within its recipe does not prove the part. Hatched: outside the recipe. A gap is a gap.")
    for run in facts.runs:
        yield from _run(paper, run)


# A run begins only where its facts and some checks fit.
ROOM_FOR_A_RUN = 230.0


def _run(paper: Paper, run: RunTold) -> Iterator[Flowable]:
    yield CondPageBreak(ROOM_FOR_A_RUN - 50)
    between = " " if run.finding.startswith(run.code) else f" {run.code}: "
    yield from paper.part(f"{run.kind.capitalize()}{between}{run.finding}")
    yield paper.state(run.verdict)
    units = ("Units in it", ", ".join(run.units))
    yield paper.facts([units, *run.facts])
    if run.decided is not None:
        yield Spacer(0, 2)
        yield paper.state(run.decided.state, f"Decided: {run.decided.word}")
        yield paper.soft(run.decided.by)
        if run.decided.why:
            yield paper.words(f"“{run.decided.why}”")
    if run.checks:
        columns = [
            Column("Check", 3.4),
            Column("Got", 1, is_number=True),
            Column("", 0.8),
            Column("Allowed", 1.6),
            Column("Verdict", 1.6),
        ]
        yield paper.table(columns, [_check_row(paper, check) for check in run.checks])
    for picture, words in ((run.picture, "The whole run"), (run.hold, "The hold on a scale of its own")):
        if picture is not None:
            yield Spacer(0, 5)
            yield paper.soft(f"{words}, hours and minutes from the first row")
            yield Curves(paper, picture)


def _check_row(paper: Paper, check: CheckRow) -> Row:
    cells: list[Cell] = [
        [paper.words(check.name)],
        [paper.number(check.got or "not shown")],
        [paper.soft(check.unit)],
        [paper.words(check.allowed)],
        [paper.state(check.verdict)],
    ]
    return Row(cells, [paper.soft(check.words)] if check.words else [])


_MEASURED = [
    Column("What", 2.6),
    Column("Got", 1.1, is_number=True),
    Column("", 0.5),
    Column("Band", 1.7),
    Column("In the band", 1.75),
    Column("Verdict", 1.7),
    Column("By, with, when", 2.2),
]


def _measured(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"Measured: {len(facts.measured)}")
    if not facts.measured:
        yield paper.soft("Nothing has been measured on it yet.")
        return
    yield paper.table(_MEASURED, [_measure_row(paper, facts, row) for row in facts.measured])


def _measure_row(paper: Paper, facts: Dossier, row: Measured) -> Row:
    name: Cell = [paper.strong(row.name)]
    if row.code != facts.unit.code:
        name.append(paper.soft(row.code))
    got: Cell = [paper.words(row.got, page.NUMBER)]
    verdict: Cell = [paper.state(row.verdict)]
    if row.corrections:
        verdict.append(paper.state("corrected"))
    by = [paper.soft(", ".join(word for word in (row.by, row.gauge) if word)), paper.soft(at_works(row.at))]
    below: Cell = [
        paper.soft(
            f"Was {change.before}, is {change.after} since {at_works(change.at)}, {change.by}"
            + (f": {change.why}" if change.why else "")
        )
        for change in row.corrections
    ]
    jaws = paper.jaws(row.value, row.lower, row.upper, row.verdict)
    return Row([name, got, [paper.soft(row.unit)], [paper.words(row.band)], jaws, verdict, by], below)


def _decisions(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"Decided: {len(facts.decisions)}")
    if not facts.decisions:
        yield paper.soft("Nothing was to be decided about it or about what went in.")
        return
    columns = [Column("About", 3.4), Column("Decided", 2.4), Column("Who, when", 2.4)]
    yield paper.table(columns, [_decision_row(paper, code, decided) for code, decided in facts.decisions])


def _decision_row(paper: Paper, code: str, decided: Decided) -> Row:
    about: Cell = [paper.code(code)]
    about.append(paper.soft(", ".join(w for w in (decided.about[:1].upper() + decided.about[1:], decided.code) if w)))
    second = f", countersigned by {decided.second}" if decided.second else ""
    who = [paper.soft(decided.by + second), paper.soft(at_works(decided.at))]
    state = paper.state(decided.state, decided.word)
    below: Cell = [paper.words(f"Noted: “{decided.noted}”")] if decided.noted else []
    below += [paper.words(f"“{decided.why}”")] if decided.why else []
    return Row([about, [state], who], below)


def _corrections(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"Put right: {len(facts.corrections)}")
    if not facts.corrections:
        yield paper.soft("Nothing was corrected, withdrawn or taken out.")
        return
    yield paper.soft("Both values are kept. Nothing in the ledger is edited or deleted.")
    columns = [Column("About", 3), Column("It said", 2), Column("It says since", 2), Column("Who, when", 2)]
    yield paper.table(columns, [_correction_row(paper, one) for one in facts.corrections])


def _correction_row(paper: Paper, one: Corrected) -> Row:
    change = one.correction
    cells: list[Cell] = [
        [paper.words(one.about)],
        [paper.words(change.before)],
        [paper.strong(change.after)],
        [paper.soft(change.by), paper.soft(at_works(change.at))],
    ]
    return Row(cells, [paper.words(f"“{change.why}”")] if change.why else [])


def _flags(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section(f"Flagged: {len(facts.flags)}")
    if not facts.flags:
        yield paper.soft("No rule was broken by what was entered.")
        return
    columns = [Column("", 4), Column("", 2.4), Column("", 2.4)]
    rows = []
    for flag in facts.flags:
        words = reason_words(flag.code)
        state = paper.state("signal", words[:1].upper() + words[1:])
        who = f"{flag.entry.by.name}, {at_works(flag.entry.happened_at)}"
        rows.append(Row([[state], [paper.soft(flag.entry.kind)], [paper.soft(who)]]))
    yield paper.table(columns, rows)


def _revisions(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section("Revisions that it was made and judged under")
    columns = [
        Column("What", 0.9),
        Column("Name", 3.6),
        Column("Revision", 2),
        Column("In force from", 1.8),
        Column("Approved by", 2.7),
    ]
    rows = [
        Row(
            [
                [paper.words(one.what)],
                [paper.words(one.name)],
                [paper.words(one.revision)],
                [paper.soft(one.since)],
                [paper.soft(one.by)],
            ]
        )
        for one in facts.revisions
    ]
    yield paper.table(columns, rows)


def _rests(paper: Paper, facts: Dossier) -> Iterator[Flowable]:
    yield from paper.section("What this paper rests on")
    yield paper.words(facts.unit.heading.known)
    yield paper.words(facts.unit.heading.rests_on)
    yield paper.soft(
        "Made again as known up to the same entry, it comes out byte for byte the same, unless words were erased or "
        "the entries were sealed meanwhile. Whoever holds the database can prove the root with the command verify."
    )
    yield Lacking(paper)
    yield Spacer(0, 4)
    yield paper.strong(f"End of the dossier of {facts.unit.code}.")
