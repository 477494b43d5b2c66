"""The floor: tubes are wound, triangles moulded with their runs, drilled, deburred, measured, bonded, polished."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial

from plant.quantities import read_quantity
from records.inspection.actions import Line, record_sheet
from records.items import actions as items
from records.items.making import Input
from records.items.models import Hold
from records.quality.actions import decide_departure, note_departure
from records.runs.actions import LogFile, Pass, assess_run, decide_run, read_log_file, record_run
from records.runs.models import Run
from records.steps import actions as steps
from records.steps.models import StepRecord, StepTool
from records.steps.recording import Read
from records.trace.queries import made_from

from . import causes, stores
from .diary import MODELS, Diary, Moulded
from .recorders import Curve, cure_curve, leak_curve, write_file
from .works import (
    BLADDERS,
    BORE_GAUGE,
    CALLIPER,
    CURE_RECIPE,
    CUTTER,
    JIG,
    LEAK_RECIPE,
    MANDRELS,
    MOULDS,
    RECORDERS,
    RULER,
    STATIONS,
)

TUBES = {"front": 2, "rear": 2}
FINAL = "Bench"
TUBE_PROGRAMME, DRILL_PROGRAMME = "TUBE rev C", "SHELL rev B"


def wind(diary: Diary) -> str:
    """Wind one tube; now and then a spool runs out in mid-tube and a second one goes on."""
    grams = diary.random.randint(280, 320)
    first = stores.spool(diary, grams)
    spools = [Input(first, read_quantity(f"{grams} g"))]
    if diary.random.random() < 0.1 and len(diary.stock.spools) > 1:
        second = diary.stock.spools[1]
        spools = [Input(first, read_quantity(f"{grams - 60} g")), Input(second, read_quantity("60 g"))]
    here, programme = STATIONS["Winding"], [Read("programme", TUBE_PROGRAMME)]
    made = steps.Made([diary.random.choice(MANDRELS)], here, readings=programme)
    tube = diary.act("marta", lambda said: steps.wind("", part="TUBE", spools=spools, made=made, said=said)).code
    passes = [Read("uv-passes", "4", "pcs")]
    tension = f"{diary.random.gauss(24, 1.2):.1f}"
    off = [
        Read("tension", tension, "N"),
        Read("splices", str(len(spools) - 1), "pcs"),
        Read("mass", str(grams - diary.random.randint(2, 6)), "g"),
    ]
    for step, readings in (("set", passes), ("preform out", off)):
        work = steps.Work(here, readings=readings, carrier=tube if step == "preform out" else "")
        diary.act("marta", partial(steps.log_step, tube, step=step, work=work))
    diary.stock.tubes.append(tube)
    diary.last_tube = tube
    return tube


def close(diary: Diary, model: str, end: str, inserts: list[Input]) -> Moulded:
    """Close a mould over preforms and a bladder."""
    preforms = [diary.stock.tubes.pop(0) for _ in range(TUBES[end])]
    number = diary.shots // 2 % 2
    tool, bladder = MOULDS[end][number], diary.random.choice(BLADDERS)
    moulding = steps.Moulding(preforms, [], inserts, [bladder])
    press = STATIONS[f"Press {number + 1}"]
    made = steps.Made([tool], press)
    part = f"{model}-{'F' if end == 'front' else 'R'}"
    unit = diary.act("lenz", lambda said: steps.mould("", part=part, moulding=moulding, made=made, said=said)).code
    diary.shots += 1
    return Moulded(unit, tool, bladder, press, diary.now)


def check(diary: Diary, moulded: Moulded) -> None:
    """Before any resin is weighed: the leak test and the bladder's hold, as the operator reads them off the gauges."""
    rise, drop = f"{diary.random.uniform(0.05, 0.4):.2f}", str(diary.random.randint(0, 35))
    for step, read in (
        ("leak test", Read("pressure-rise", rise, "mbar")),
        ("bladder hold", Read("pressure-drop", drop, "mbar")),
    ):
        work = steps.Work(moulded.press, readings=[read])
        diary.act("lenz", partial(steps.log_step, moulded.unit, step=step, work=work))


def fill(diary: Diary, moulded: Moulded, pot: str) -> Moulded:
    """Fill a closed mould from a pot, and start its cure."""
    work = steps.Work(moulded.press, shots=[steps.Shot(pot)])
    diary.act("lenz", lambda said: steps.log_step(moulded.unit, step="fill", work=work, said=said))
    start = steps.Work(moulded.press)
    diary.act("lenz", lambda said: steps.log_step(moulded.unit, step="start cure", work=start, said=said))
    return replace(moulded, closed_at=diary.now)


def cure(diary: Diary, moulded: Moulded) -> str:
    """The morning after: leak test and cure of the closed mould are recorded and judged; the part comes out."""
    leaks = moulded.bladder == causes.LEAKING_BLADDER and diary.random.random() < 0.5
    cold = moulded.tool == causes.COLD_MOULD and diary.course.mould_is_cold
    unit, press, closed = moulded.unit, moulded.press, moulded.closed_at
    log_run(diary, unit, "leak-test", press, leak_curve(closed - timedelta(minutes=30), diary.noise, leaks=leaks))
    log_run(diary, unit, "cure", press, cure_curve(closed, diary.noise, cold=cold))
    open_mould(diary, unit, press)
    return unit


def open_mould(diary: Diary, unit: str, press: str) -> None:
    """The cure ends, the gauge is read at zero, the part comes out."""
    at_zero = steps.Work(press, readings=[Read("gauge", "0", "bar")])
    for step, work in (
        ("end cure", steps.Work(press)),
        ("vent", at_zero),
        ("demould", steps.Work(press, carrier=unit)),
    ):
        diary.act("lenz", partial(steps.log_step, unit, step=step, work=work))


def log_run(diary: Diary, unit: str, kind: str, press: str, curve: Curve) -> None:
    """A run with its recorder file: written to disk, read back, judged; what is outside goes to Review."""
    rows = len(next(iter(curve.channels.values())))
    end: datetime = curve.start + timedelta(seconds=curve.step_s * rows)
    told = Pass(kind, [unit], curve.start, end, press)
    run = diary.act("lenz", lambda said: record_run(told, said=said))
    dialect = diary.files % 3
    path = write_file(diary.folder, run.code, curve, dialect)
    diary.files += 1
    file = LogFile(path.name, path.read_bytes(), RECORDERS[dialect])
    diary.act("lenz", lambda said: read_log_file(run.code, file, said=said))
    recipe, roles = (LEAK_RECIPE, {"valve": "Valve"}) if kind == "leak-test" else (CURE_RECIPE, {})
    judged = diary.act("edda", lambda said: assess_run(run.code, recipe=recipe, roles=roles, said=said))
    if judged.verdict not in ("within", "near-edge"):
        _decide(diary, unit, run, kind)


def _decide(diary: Diary, unit: str, run: Run, kind: str) -> None:
    """Review looks at a run outside: most leaks are accepted after a look at the part, a cold cure fails the part."""
    accept = kind == "leak-test" and diary.random.random() < 0.6
    choice = "accept" if accept else "fail"
    words = "cut-up of the last part was sound; bladder to be checked" if accept else "soak too short, part is lost"
    diary.act("iris", lambda said: decide_run(run.code, choice=choice, words=words, said=said))
    if accept:
        lift_all(diary, unit, words)


def lift_all(diary: Diary, unit: str, words: str) -> None:
    """Every hold on a unit is lifted, one by one, with the reason."""
    for hold in Hold.objects.filter(item__codes__code=unit, lift=None).select_related("entry"):
        diary.act("quill", partial(items.lift_hold, hold.entry.key, words=words))


def is_held(unit: str) -> bool:
    """Whether a hold binds on a unit."""
    return Hold.objects.filter(item__codes__code=unit, lift=None).exists()


def machine(diary: Diary, unit: str) -> None:
    """Drill, deburr, measure one triangle; a held one is decided or lost first."""
    if is_held(unit):
        lose(diary, unit, "cure", "run failed")
        return
    end = "front" if unit.startswith("FT") else "rear"
    programme = [Read("programme", DRILL_PROGRAMME)]
    drilled = steps.Work(STATIONS["Drill cell"], [CUTTER], programme)
    for step, work in (("drill", drilled), ("deburr", steps.Work(STATIONS["Drill cell"], carrier=unit))):
        diary.act("marta", partial(steps.log_step, unit, step=step, work=work))
    lines = front_lines(diary, unit) if end == "front" else rear_lines(diary)
    diary.act("marta", lambda said: record_sheet(unit, lines, station=STATIONS[FINAL], said=said))
    if is_held(unit):
        lose(diary, unit, "dimension", "outside its band")
    elif holds_bad_resin(diary, unit) and diary.random.random() < 0.3:
        lose(diary, unit, "dry-patch", "dry patch at the shell")
    else:
        diary.stock.ready[end].append(unit)


def front_lines(diary: Diary, unit: str) -> list[Line]:
    """A front's sheet: the shell's width drifts with the worn mould; the bore is three readings."""
    worn = causes.WORN_MOULD in tools_of(unit)
    width = 73.0 + diary.random.gauss(0, 0.03) + (diary.course.shell_wear_mm if worn else 0.0)
    bores = [f"{41.02 + diary.random.gauss(0, 0.004):.3f}" for _ in range(3)]
    return [Line("shell-width", [f"{width:.2f}"], CALLIPER), Line("shell-bore", bores, BORE_GAUGE)]


def rear_lines(diary: Diary) -> list[Line]:
    """A rear's sheet: the length bar reads too high once it was knocked."""
    error = causes.GAUGE_ERROR_MM if diary.course.gauge_is_out else 0.0
    return [Line("stay-length", [f"{410.2 + diary.random.gauss(0, 0.09) + error:.2f}"], RULER)]


def tools_of(unit: str) -> set[str]:
    """Codes of the tools that a unit was made with."""
    uses = StepTool.objects.filter(step__unit__codes__code=unit)
    return set(uses.values_list("tool__code", flat=True))


def holds_bad_resin(diary: Diary, unit: str) -> bool:
    """Whether a unit holds the resin lot that is bad."""
    bad = diary.stock.lots.get("bad-resin")
    return bad is not None and any(found.code == bad for found in made_from(unit).listed)


def lose(diary: Diary, unit: str, defect: str, words: str) -> None:
    """A departure is noted and decided, the unit scrapped."""
    noted = diary.act("iris", lambda said: note_departure(unit, defect=defect, words=words, said=said))
    diary.act("iris", lambda said: decide_departure(noted.code, choice="scrap", words=words, said=said))
    diary.act("jonas", lambda said: items.scrap(unit, words=words, said=said))


def prepare(diary: Diary, front: str, rear: str) -> None:
    """Make the surfaces of two triangles ready for bonding: it holds for some hours only."""
    work = steps.Work(STATIONS["Bonding"])
    for unit in (front, rear):
        diary.act("lenz", partial(steps.log_step, unit, step="prepare", work=work))


def bond(diary: Diary, model: str, front: str, rear: str, pot: str) -> str:
    """Bond a front and a rear into a frame, and set the bond under the heater."""
    bonding = steps.Bonding(front, rear, [Input(pot, read_quantity("30 g"))])
    made = steps.Made([JIG], STATIONS["Bonding"])
    frame = diary.act(
        "lenz", lambda said: steps.bond("", part=MODELS[model], bonding=bonding, made=made, said=said)
    ).code
    line, heater = f"{diary.random.gauss(0.3, 0.04):.2f}", f"{diary.random.gauss(62, 1.5):.1f}"
    read = [Read("bond-line", line, "mm"), Read("heater", heater, "°C")]
    work = steps.Work(STATIONS["Bonding"], readings=read, carrier=frame)
    diary.act("lenz", lambda said: steps.log_step(frame, step="set bond", work=work, said=said))
    diary.bonded[model] += 1
    diary.stock.bonded.append(frame)
    return frame


def polish(diary: Diary, frame: str) -> None:
    """Polish a frame; now and then it shows in the light that it must be done again."""
    work = steps.Work(STATIONS["Polish"], carrier=frame)
    if diary.random.random() < 0.06:
        dull = replace(work, outcome=StepRecord.Outcome.FAILED, carrier="")
        diary.act("marta", lambda said: steps.log_step(frame, step="polish", work=dull, said=said))
    diary.act("marta", lambda said: steps.log_step(frame, step="polish", work=work, said=said))
    diary.stock.polished.append(frame)


def finish(diary: Diary, frame: str) -> bool:
    """Final check of a frame, with its offset measured; whether it can go on to release."""
    work = steps.Work(STATIONS[FINAL])
    diary.act("lenz", lambda said: steps.log_step(frame, step="final", work=work, said=said))
    offset = abs(diary.random.gauss(0.3, 0.12))
    sheet = [Line("rear-offset", [f"{offset:.2f}"], CALLIPER)]
    diary.act("lenz", lambda said: record_sheet(frame, sheet, station=STATIONS[FINAL], said=said))
    if not is_held(frame):
        mass = [Read("mass", str(round(diary.random.gauss(1420, 25))), "g")]
        weighed = steps.Work(STATIONS[FINAL], readings=mass)
        diary.act("lenz", lambda said: steps.log_step(frame, step="weigh", work=weighed, said=said))
    return not is_held(frame)
