"""What lies on the desks of the works of the straight week: a cure with its file and recipe, a proposal, measures."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from plant.catalogue import specs
from plant.catalogue.actions import approve_change, propose_change
from plant.catalogue.models import Proposal, RecipeRevision
from plant.equipment.actions import Wanted, register_tablet, set_printer
from plant.people.models import Person
from plant.quantities import read_quantity
from records.floor.actions import Line as HandedLine
from records.floor.actions import call_lead, hand_over, note_differences, print_sheet
from records.floor.models import Difference
from records.inspection.actions import Line, record_sheet
from records.inspection.models import Measurement
from records.items.actions import (
    Counted,
    Delivery,
    clean_tank,
    count_stock,
    log_keeping,
    mount_lot,
    place_hold,
    receive_lot,
)
from records.items.making import Input
from records.items.models import Consignment, Link
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.models import Flag
from records.quality.actions import report_damage
from records.release.actions import open_passport, print_label
from records.runs.actions import LogFile, Pass, assess_run, read_log_file, record_run
from records.runs.models import Log, Run
from records.steps.actions import lock_out_tablet, log_step
from tests import worlds
from tests.keys import Key
from tests.photos import a_photo
from tests.records.runs import files

PRINTER = Wanted("Labels at the bench", "ipp://printer.example/ipp/print", 203, ("Bench",))
RECIPE = "RP-26-000001-5"
RULES = [
    specs.RuleSpec("soak-coldest", "min", level="75", level_unit="degC", lower="60"),
    specs.RuleSpec("peak", "degC", upper="95"),
    specs.RuleSpec("heat-up-max", "K", upper="4"),
]


def cure_file(name: str = "cure.csv", **curve: float) -> LogFile:
    """A recorder file of a cure with two probes."""
    probe = files.ramp_and_soak(**curve)
    at = files.stamps(len(probe), day="2026-03-09", hour=5)
    lines = files.written("Time,TC1 (°C),TC2 (°C)", at, probe, [round(t - 1.5, 2) for t in probe])
    return LogFile(name, lines.encode())


def a_recipe(*, rules: list = RULES) -> RecipeRevision:
    """A recipe proposed by an engineer and approved by the manager."""
    with clock.at(worlds.AFTER - timedelta(days=8)):
        spec = specs.RecipeSpec(RECIPE, "cure", rules)
        proposal = propose_change(spec, reason="first trials", said=_before(worlds.by(), "quill"))
        approve_change(proposal, said=_before(worlds.by(), "jonas"))
    return RecipeRevision.objects.get(proposal=proposal)


def _before(said: Said, badge: str) -> Said:
    return replace(said, by=Person.objects.get(badge=badge), key=uuid4(), at=said.at - timedelta(days=8))


def a_cure(units: list[str], *, file: LogFile | None = None, judge: bool = True) -> Run:
    """A cure of units, with its file read in and judged."""
    with clock.at(worlds.AFTER):
        told = Pass("cure", units, worlds.AFTER - timedelta(hours=3), worlds.AFTER, "Press 1")
        run = record_run(told, said=worlds.by("marta"))
        read_log_file(run.code, file or cure_file(), said=worlds.by("marta"))
        if judge:
            assess_run(run.code, recipe=RECIPE, said=worlds.by("quill"))
    return run


def a_proposal() -> Proposal:
    """A wider band that waits for approval."""
    spec = specs.CharacteristicSpec("shell-width", "OSIER", "mm", lower="34.8", upper="35", decimals=3)
    with clock.at(worlds.AFTER):
        return propose_change(spec, reason="the bearing allows it", said=worlds.by("quill"))


def measured(unit: str, name: str, *values: str) -> None:
    """A measure taken again and again, a minute apart."""
    for n, value in enumerate(values):
        said = worlds.by("marta")
        moment = said.at + timedelta(minutes=n)
        with clock.at(moment):
            record_sheet(unit, [Line(name, [value], "G-11")], said=_at(said, moment))


def _at(said: Said, moment: datetime) -> Said:
    return replace(said, at=moment)


def a_flag() -> int:
    """A step told as done on a unit that was held: kept, and marked."""
    with clock.at(worlds.AFTER):
        place_hold("TB-0001", reason="doubt", said=worlds.by())
        log_step("TB-0001", step="wind", said=replace(worlds.by("marta"), done=True))
    return Flag.objects.latest("pk").pk


@dataclass(frozen=True)
class OnDesks:
    """What the table of rights names: a run and its file, a recipe, a proposal, a person, a measurement, a signal."""

    run: str
    log: int
    recipe: int
    proposal: int
    person: int
    measurement: UUID
    signal: int
    consignment: str
    flag: int
    label: int
    printer: str
    count: int
    photo: str
    call: UUID
    sheet: str
    difference: int
    hand_over: UUID
    tablet: str
    lost: str
    reported: str
    scan: UUID
    scanned: str
    cleaning: UUID
    keeping: UUID
    delivery: str
    mounted: UUID


def a_count() -> int:
    """A lot of which less was found than the records say, with a photo of it."""
    with clock.at(worlds.AFTER):
        said = replace(worlds.by(), photos=(a_photo(),))
        return count_stock([Counted("FL-0871", read_quantity("1 g"))], said=said)[0].pk


def a_call() -> UUID:
    """A call for the lead that nobody has answered."""
    with clock.at(worlds.AFTER):
        return call_lead("Bench", said=worlds.by("marta")).entry.key


def a_sheet() -> str:
    """An emergency sheet that is out."""
    with clock.at(worlds.AFTER):
        return print_sheet("Bench", said=worlds.by("lead")).code


def a_difference(measured: Measurement) -> int:
    """A measurement whose tablet showed another revision of the band."""
    row = Difference(about=measured.entry, what="shell-width", seen="0", judged="1", measurement=measured)
    with clock.at(worlds.AFTER):
        said = Said(Person.objects.program(), uuid4(), worlds.AFTER)
        return note_differences(measured.entry, [row], said=said)[0].pk


def a_hand_over() -> UUID:
    """A shift that one lead handed over to another."""
    with clock.at(worlds.AFTER):
        coming = Person.objects.get(badge="jonas")
        lines = [HandedLine("call", "Bench", "Nobody has answered.")]
        return hand_over(lines, coming=coming, said=worlds.by("lead")).entry.key


def a_registered_tablet() -> str:
    """A tablet of the bench."""
    with clock.at(worlds.AFTER):
        return register_tablet("Bench", public_key=Key().public, said=worlds.by("lead")).code


def a_lost_tablet() -> str:
    """Another tablet of the bench, broken with what it kept."""
    code = a_registered_tablet()
    with clock.at(worlds.AFTER):
        lock_out_tablet(code, reason="broken", said=worlds.by("lead"))
    return code


def damage_told() -> str:
    """Damage that somebody told on a frame's public page, whom to answer and all."""
    with clock.at(worlds.AFTER):
        open_passport(worlds.HERE, said=worlds.by("review"))
        said = Said(Person.objects.program(), uuid4(), worlds.AFTER, photos=(a_photo("red"),))
        return report_damage(worlds.HERE, words="a crack", contact="rider@example.org", said=said).code


def a_scan() -> tuple[UUID, str]:
    """A mixed pot's entry, and a lot that was scanned into the pot."""
    link = Link.objects.filter(entry__kind="pot mixed").select_related("entry", "parent__state").earliest("pk")
    return link.entry.key, link.parent.code


def a_cleaning() -> UUID:
    """A cleaning of a tank."""
    with clock.at(worlds.AFTER):
        return clean_tank("T-1", said=worlds.by()).entry.key


def a_keeping() -> UUID:
    """A lot that was opened."""
    with clock.at(worlds.AFTER):
        return log_keeping("FL-0871", what="opened", said=replace(worlds.by(), done=True)).entry.key


def a_mounting() -> UUID:
    """A lot that was mounted at a head."""
    window = {"not_before": worlds.AFTER, "not_after": worlds.AFTER}
    with clock.at(worlds.AFTER):
        said = replace(worlds.by(), done=True)
        return mount_lot("Bench", head="left", lot="FL-0871", **window, said=said).entry.key


def in_packages() -> str:
    """A delivery in two packages, of which one has a label."""
    packages = [Input(code, read_quantity("1 kg")) for code in ("K1", "K2")]
    delivery = Delivery(part="RES-A", quantity=read_quantity("2 kg"), supplier="Fell Supply", packages=packages)
    with clock.at(worlds.AFTER):
        receive_lot("D-PACKED", delivery, said=worlds.by())
        print_label("K1", said=worlds.by())
    return "D-PACKED"


def all_of_it() -> OnDesks:
    """One of each."""
    recipe = a_recipe()
    run = a_cure([worlds.HERE], file=cure_file(soak_min=20))
    measured(worlds.HERE, "shell-width", "34.90", "34.91", "34.90", "34.91", "34.90", "34.91", "34.90", "39.9")
    last = Measurement.objects.order_by("-pk")[0]
    person = Person.objects.get(badge="operator")
    log = Log.objects.get(run=run)
    return OnDesks(
        run.code,
        log.pk,
        recipe.pk,
        a_proposal().pk,
        person.pk,
        last.entry.key,
        last.pk,
        Consignment.objects.earliest("pk").code,
        a_flag(),
        print_label(worlds.HERE, said=worlds.by()).pk,
        set_printer("LP-0", PRINTER, said=worlds.by()).printer.code,
        a_count(),
        a_photo(),
        a_call(),
        a_sheet(),
        a_difference(last),
        a_hand_over(),
        a_registered_tablet(),
        a_lost_tablet(),
        damage_told(),
        *a_scan(),
        a_cleaning(),
        a_keeping(),
        in_packages(),
        a_mounting(),
    )
