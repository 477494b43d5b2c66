"""Each act of the program once: what must stand before it, and the act itself, told by whoever is given.

Long because it is one table: splitting it would hide which act is missing. A kind of act that the code knows and
this table does not is a defect: the tests that walk the table would miss it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from plant.catalogue import specs
from plant.catalogue.actions import approve_change, propose_change
from plant.catalogue.models import Characteristic
from plant.equipment.actions import (
    Found,
    Wanted,
    add_equipment,
    calibrate_gauge,
    register_tablet,
    set_printer,
)
from plant.people.actions import (
    add_person,
    change_roles,
    close_badge,
    give_qualification,
    make_key,
    name_deputy,
    open_badge,
    set_language,
    set_password,
    set_pin,
)
from plant.people.models import Person
from plant.quantities import read_quantity
from records.floor import actions as floor
from records.floor.models import Difference
from records.inspection.actions import Line, Right, correct_measurement, record_sheet, withdraw_measurement
from records.items import actions as items
from records.items.actions.receiving import Delivery
from records.ledger.actions import erase_words, settle_unplaced
from records.ledger.acts import Said
from records.ledger.models import Entry, Flag, PrivateWords, Unplaced
from records.ledger.refusals import Refused
from records.quality import actions as quality
from records.release import actions as release
from records.runs import actions as runs
from records.spc import actions as spc
from records.steps import actions as steps
from tests import builders
from tests.builders import a_person, moment, of, said
from tests.keys import Key, a_tablet

Ready = Callable[[Said], object]


@dataclass(frozen=True)
class Exercise:
    """One act of a kind: ``ready`` sets the scene in a works and hands back the act."""

    kind: str
    name: str
    ready: Callable[[], Ready]


EXERCISES: list[Exercise] = []


def exercise(kind: str) -> Callable[[Callable[[], Ready]], Callable[[], Ready]]:
    def note(ready: Callable[[], Ready]) -> Callable[[], Ready]:
        EXERCISES.append(Exercise(kind, ready.__name__, ready))
        return ready

    return note


# ---- people, equipment, set-up


@exercise("person added")
def person_added():
    return lambda s: add_person("B-77", name="Nora Fell", roles=["operator"], said=s)


@exercise("roles changed")
def roles_changed():
    return lambda s: change_roles(a_person("visitor"), roles=["lead"], said=s)


@exercise("badge closed")
def badge_closed():
    return lambda s: close_badge(a_person("visitor"), said=s)


@exercise("badge opened")
def badge_opened():
    close_badge(a_person("visitor"), said=said())
    return lambda s: open_badge(a_person("visitor"), said=s)


@exercise("password set")
def password_set():
    return lambda s: set_password(s.by, "willow bark and rushes", said=s)


@exercise("language set")
def language_set():
    return lambda s: set_language(s.by, "it", said=s)


@exercise("pin set")
def pin_set():
    return lambda s: set_pin(s.by, "2749", said=s)


@exercise("qualification given")
def qualification_given():
    return lambda s: give_qualification(a_person("operator"), what="finish", from_on=moment(0).date(), said=s)


@exercise("tablet registered")
def tablet_registered():
    key = Key().public
    return lambda s: register_tablet("BOND-1", public_key=key, said=s)


@exercise("tablet locked out")
def tablet_locked_out():
    builders.a_tube("T1")
    builders.a_pot("P1", hours=5.5)
    device = a_tablet("MOULD-1")
    return lambda s: steps.lock_out_tablet(device.code, reason="lost", said=s)


@exercise("tablet settled")
def tablet_settled():
    builders.a_tube("T1")
    builders.a_pot("P1", hours=5.5)
    device = a_tablet("MOULD-1")
    steps.lock_out_tablet(device.code, reason="lost", said=said(5.8))
    return lambda s: steps.settle_tablet(device.code, words="Iris found it, and all of it is in", said=s)


@exercise("put aside")
def put_aside():
    builders.a_front("F1")
    return lambda s: steps.put_aside("F1", words="dry patch at the shell", said=s)


@exercise("sent to rework")
def sent_to_rework():
    builders.a_finished_front("F1")
    return lambda s: steps.send_to_rework("F1", step="trim", words="edge is proud", said=s)


@exercise("deputy named")
def deputy_named():
    return lambda s: name_deputy(
        "hold lifted", holder=a_person("review"), deputy=a_person("second"), from_on=moment(0).date(), said=s
    )


@exercise("key made")
def key_made():
    device, key = a_tablet(), Key().public
    return lambda s: make_key(device, key, said=s)


@exercise("equipment added")
def equipment_added():
    return lambda s: add_equipment("tool", "ML-9", kind="mould", said=s)


@exercise("printer set")
def printer_set():
    wanted = Wanted("Labels at the press", "ipp://printer.example/ipp/print", 203, ("MOULD-1",))
    return lambda s: set_printer("LP-1", wanted, said=s)


@exercise("gauge calibrated")
def gauge_calibrated():
    return lambda s: calibrate_gauge("GA-1", Found("good"), said=s)


NARROWER = specs.CharacteristicSpec("bore", "OSIER-F", "mm", lower="34.88", upper="34.92")


@exercise("change proposed")
def change_proposed():
    return lambda s: propose_change(NARROWER, reason="bearing rattles", said=s)


@exercise("change approved")
def change_approved():
    proposal = propose_change(NARROWER, reason="bearing rattles", said=said(by="second"))
    return lambda s: approve_change(proposal, said=s)


# ---- stores


@exercise("lot received")
def lot_received():
    delivery = Delivery("RES-A", read_quantity("20 kg"), "Fell Supply", certificate=[("viscosity", "900", "mPas")])
    return lambda s: items.receive_lot("R1", delivery, said=s)


@exercise("lot accepted")
def lot_accepted():
    builders.a_delivery()
    return lambda s: items.accept_lot("R1", said=s)


@exercise("lot rejected")
def lot_rejected():
    builders.a_delivery()
    return lambda s: items.reject_lot("R1", words="frozen on the way", said=s)


@exercise("lot released at risk")
def lot_released_at_risk():
    builders.a_delivery()
    limits = {"limit": read_quantity("2 kg"), "until": moment(48)}
    return lambda s: items.release_at_risk("R1", words="certificate is late", **limits, said=s)


@exercise("certificate read")
def certificate_read():
    builders.a_delivery()
    return lambda s: items.read_certificate("R1", [("viscosity", "310", "mPa s")], said=s)


@exercise("receipt corrected")
def receipt_corrected():
    builders.a_delivery()
    right = items.BookedRight(read_quantity("25 kg"), "Fell Supply")
    return lambda s: items.correct_receipt("R1", right, words="a slip", said=s)


@exercise("lot sent back")
def lot_sent_back():
    builders.a_delivery()
    return lambda s: items.send_back("R1", words="frozen on the way", said=s)


@exercise("keeping logged")
def keeping_logged():
    builders.a_lot()
    return lambda s: items.log_keeping("R1", what="opened", said=s)


@exercise("life extended")
def life_extended():
    builders.a_lot(expires=date(2026, 3, 31))
    builders.an_allowed_departure("R1")
    longer = {"until": date(2026, 6, 30), "certificate": "LAB-7", "words": "gel time within"}
    return lambda s: items.extend_life("R1", **longer, said=s)


@exercise("lot split")
def lot_split():
    builders.fibre()
    return lambda s: items.split_lot("FB1", [of("SP1", "1 kg"), of("SP2", "1 kg")], said=s)


@exercise("lots merged")
def lots_merged():
    builders.a_lot("R1")
    builders.a_lot("R2")
    return lambda s: items.merge_lots("R3", [of("R1"), of("R2")], said=s)


@exercise("pot mixed")
def pot_mixed():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    return lambda s: items.mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=s)


@exercise("tank charged")
def tank_charged():
    builders.a_lot("R1")
    return lambda s: items.charge_tank("TK-1", lot=of("R1", "5 kg"), said=s)


@exercise("tank drawn")
def tank_drawn():
    builders.a_charge(hours=-1)
    return lambda s: items.draw_tank("TK-1", into="D1", quantity=read_quantity("4 kg"), said=s)


@exercise("tank cleaned")
def tank_cleaned():
    builders.a_charge(hours=-2)
    builders.a_draw(hours=1)
    return lambda s: items.clean_tank("TK-1", said=s)


@exercise("lot mounted")
def lot_mounted():
    builders.a_spool()
    window = {"not_before": moment(-2), "not_after": moment(-1)}
    return lambda s: items.mount_lot("WIND-1", head="left", lot="SP1", **window, said=s)


@exercise("item moved")
def item_moved():
    builders.a_lot()
    return lambda s: items.move_item("R1", station="STORE", said=s)


@exercise("item scrapped")
def item_scrapped():
    builders.a_front()
    return lambda s: items.scrap("F1", words="cracked", said=s)


@exercise("stock counted")
def stock_counted():
    builders.a_lot()
    return lambda s: items.count_stock([items.Counted("R1", read_quantity("980 g"))], said=s)


@exercise("count explained")
def count_explained():
    builders.a_lot()
    (count,) = items.count_stock([items.Counted("R1", read_quantity("980 g"))], said=said())
    return lambda s: items.explain_count(count, why="lost", words="spilled", said=s)


@exercise("sent out")
def sent_out():
    builders.a_vented_front()
    return lambda s: steps.send_out(["F1"], to="Beck Painters", said=s)


@exercise("come back")
def come_back():
    builders.a_vented_front()
    steps.send_out(["F1"], to="Beck Painters", said=said(1))
    return lambda s: items.bring_back(["F1"], station="STORE", said=s)


@exercise("label checked")
def label_checked():
    builders.a_front()
    release.print_label("F1", said=said())
    return lambda s: release.check_label("[)>\x1e06\x1dSF1\x1dZ1\x1e\x04", of="F1", said=s)


@exercise("passport opened")
def passport_opened():
    builders.a_front()
    return lambda s: release.open_passport("F1", said=s)


@exercise("passport closed")
def passport_closed():
    builders.a_front()
    release.open_passport("F1", said=said())
    return lambda s: release.close_passport("F1", reason="copied", said=s)


@exercise("label printed")
def label_printed():
    builders.a_front()
    return lambda s: release.print_label("F1", said=s)


# ---- the floor


@exercise("unit made")
def unit_made():
    builders.a_spool()
    return lambda s: steps.wind("T1", part="TUBE", spools=[of("SP1")], made=steps.Made(["MD-1"], "WIND-1"), said=s)


@exercise("step done")
def step_done():
    builders.a_front()
    return lambda s: steps.log_step("F1", step="vent", work=steps.Work("TRIM-1", ["ML-2"]), said=s)


@exercise("consignments swapped")
def consignments_swapped():
    for code, tube in (("F1", "T1"), ("F2", "T2")):
        builders.a_vented_front(code, tube=tube)
        steps.send_out([code], to=f"Painter of {code}", said=said(1))
    return lambda s: items.swap_consigned("F1", "F2", words="found on opening the crate", said=s)


@exercise("carrier put on")
def carrier_put_on():
    builders.a_front("F1")
    return lambda s: steps.put_carrier("F1", kind="tag", symbol="F1", said=s)


@exercise("entry withdrawn")
def carrier_withdrawn():
    builders.a_front()
    told = said(0.4)
    steps.put_carrier("F1", kind="tag", symbol="F1", said=told)
    return lambda s: steps.withdraw_carrier(told.key, words="other frame", said=s)


@exercise("carrier taken off")
def carrier_taken_off():
    builders.a_front("F1")
    steps.put_carrier("F1", kind="tag", symbol="F1", said=said(0.4))
    return lambda s: steps.take_carrier_off("F1", reason="carrier-lost", said=s)


@exercise("measured again later")
def measured_again_later():
    builders.a_front()
    return lambda s: steps.measure_again("F1", read=steps.Outside("bore", "36", "mm"), minutes=5, said=s)


@exercise("measured")
def measured():
    builders.a_front()
    return lambda s: record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], station="TRIM-1", said=s)


# ---- corrections


@exercise("unit taken out")
def unit_taken_out():
    builders.a_frame(hours=-1)
    return lambda s: items.take_out("X1", item="F-X1", words="cracked", station="STORE", said=s)


@exercise("unit put in")
def unit_put_in():
    builders.a_frame(hours=-1)
    builders.a_front("F2", hours=-1)
    return lambda s: items.put_in("X1", item="F2", said=s)


@exercise("use told late")
def use_told_late():
    builders.a_front()
    builders.a_pot("P2", hours=5.5)
    return lambda s: items.tell_use_late("F1", lot=of("P2"), words="second pot", said=s)


def a_told_pot() -> Said:
    builders.a_lot("R1")
    builders.a_lot("R2")
    builders.a_lot("H1", "HRD-A")
    told = said(-1)
    items.mix_pot("P1", mix="EPOXY", inputs=[of("R1", "100 g"), of("H1", "30 g")], said=told)
    return told


@exercise("link corrected")
def link_corrected():
    told = a_told_pot()
    right = items.Correction("R1", "R2")
    return lambda s: items.correct_link(told.key, right, words="other can", said=s)


def a_told_charge() -> Said:
    builders.a_lot("R1")
    builders.a_lot("R2")
    told = said(-1)
    items.charge_tank("TK-1", lot=of("R1", "5 kg"), said=told)
    builders.a_draw(hours=-0.5)
    return told


@exercise("link corrected")
def charge_corrected():
    told = a_told_charge()
    right = items.Correction("R1", "R2")
    return lambda s: items.correct_link(told.key, right, words="other can", said=s)


@exercise("entry withdrawn")
def link_withdrawn():
    told = a_told_pot()
    return lambda s: items.withdraw(told.key, was="R1", words="not so", said=s)


@exercise("entry withdrawn")
def charge_withdrawn():
    told = a_told_charge()
    return lambda s: items.withdraw(told.key, words="not so", said=s)


@exercise("entry withdrawn")
def step_withdrawn():
    builders.a_front()
    told = said()
    steps.log_step("F1", step="vent", work=steps.Work(tools=["ML-1"]), said=told)
    return lambda s: steps.withdraw_step(told.key, words="other frame", said=s)


def a_told_measure() -> Said:
    builders.a_front()
    told = said(0.5)
    record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], said=told)
    return told


@exercise("entry withdrawn")
def measurement_withdrawn():
    told = a_told_measure()
    return lambda s: withdraw_measurement(told.key, words="other frame", said=s)


@exercise("measurement corrected")
def measurement_corrected():
    told = a_told_measure()
    return lambda s: correct_measurement(told.key, Right("34.91"), words="misread", said=s)


@exercise("renumbered")
def renumbered():
    builders.a_front()
    return lambda s: items.renumber("F1", to="F100", words="label lost", said=s)


@exercise("labels swapped")
def labels_swapped():
    builders.a_finished_frame("X1")
    builders.a_finished_frame("X2")
    return lambda s: quality.swap_labels("X1", "X2", since=moment(1.5), words="both off", said=s)


@exercise("swap confirmed")
def swap_confirmed():
    builders.a_front("F1")
    builders.a_front("F2")
    swap = quality.swap_labels("F1", "F2", since=moment(0), words="both off", said=said(1))
    items.confirm_swap(swap, words="by weight", said=said(2, by="second"))
    return lambda s: items.confirm_swap(swap, words="by the mould mark", said=s)


@exercise("coupon cut")
def coupon_cut():
    builders.a_front()
    return lambda s: items.cut_coupon("CU1", unit="F1", part="CPN", station="TRIM-1", said=s)


# ---- decisions


@exercise("hold placed")
def hold_placed():
    builders.a_front()
    return lambda s: items.place_hold("F1", reason="dry-patch", words="left side", said=s)


@exercise("hold lifted")
def hold_lifted():
    builders.a_front()
    told = said(0.5)
    items.place_hold("F1", reason="dry-patch", said=told)
    return lambda s: items.lift_hold(told.key, words="looked at again", said=s)


@exercise("unit released")
def unit_released():
    builders.a_finished_frame()
    return lambda s: release.release_units(["X1"], said=s)


@exercise("shipped")
def shipped():
    builders.a_finished_frame()
    release.release_units(["X1"], said=said(5))
    return lambda s: release.ship(["X1"], to="Lienz Cycles", said=s)


@exercise("frame returned")
def frame_returned():
    builders.a_finished_frame(hours=-4)
    release.release_units(["X1"], said=said(-1))
    release.ship(["X1"], to="Lienz Cycles", said=said(-1))
    return lambda s: items.return_frame("X1", station="STORE", words="creaks", said=s)


@exercise("departure noted")
def departure_noted():
    builders.a_front()
    return lambda s: quality.note_departure("F1", defect="void", words="left side", said=s)


def a_departure() -> str:
    builders.a_front()
    return quality.note_departure("F1", defect="void", words="left side", said=said(by="second")).code


@exercise("departure decided")
def departure_decided():
    code = a_departure()
    return lambda s: quality.decide_departure(code, choice="as-is", words="cosmetic", said=s)


@exercise("departure countersigned")
def departure_countersigned():
    code = a_departure()
    quality.decide_departure(code, choice="as-is", words="cosmetic", said=said(by="second"))
    return lambda s: quality.countersign_departure(code, said=s)


@exercise("flag answered")
def flag_answered():
    builders.a_front()
    items.place_hold("F1", reason="dry-patch", said=said(0.5))
    steps.log_step("F1", step="trim", said=said(1, done=True))
    flag = Flag.objects.earliest("pk")
    return lambda s: quality.answer_flag(flag, found="stands", words="looked at with Iris", said=s)


@exercise("unplaced settled")
def unplaced_settled():
    try:
        items.scrap("GHOST", words="cracked", said=said(done=True))
    except Refused:
        unplaced = Unplaced.objects.get()
    return lambda s: settle_unplaced(unplaced, reason="no such frame", said=s)


@exercise("words erased")
def words_erased():
    words = PrivateWords.objects.get(text="operator of the works")
    return lambda s: erase_words(words, reason="asked", said=s)


# ---- runs


def a_run(kind: str = "cure") -> str:
    builders.a_front()
    told = runs.Pass(kind, ["F1"], moment(1), moment(3), "MOULD-1")
    return runs.record_run(told, said=said(3)).code


@exercise("run recorded")
def run_recorded():
    builders.a_front()
    told = runs.Pass("cure", ["F1"], moment(1), moment(3), "MOULD-1")
    return lambda s: runs.record_run(told, said=s)


def a_recorder_file() -> runs.LogFile:
    start = moment(1)
    rows = [(start + timedelta(minutes=n)).strftime("%Y-%m-%d %H:%M:%S") + f",{20 + n}.5" for n in range(60)]
    return runs.LogFile("oven.csv", "\n".join(["Time,Part 1 [°C]", *rows, ""]).encode())


@exercise("log read")
def log_read():
    code, file = a_run(), a_recorder_file()
    return lambda s: runs.read_log_file(code, file, said=s)


def a_run_with_log() -> str:
    code = a_run()
    runs.read_log_file(code, a_recorder_file(), said=said(4))
    return code


@exercise("run assessed")
def run_assessed():
    code = a_run_with_log()
    return lambda s: runs.assess_run(code, recipe="CURE-A", said=s)


@exercise("run decided")
def run_decided():
    code = a_run_with_log()
    runs.assess_run(code, recipe="CURE-A", said=said(5))
    return lambda s: runs.decide_run(code, choice="accept", words="probe came off", said=s)


@exercise("pot metered")
def pot_metered():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    rows = [f"2026-03-02 08:00:0{n},{1000 + 50 * n},{300 + 15 * n}" for n in range(3)]
    file = runs.LogFile("shot.csv", "\n".join(["Time,Resin total [g],Hardener total [g]", *rows, ""]).encode())
    lots = {"Resin total": "R1", "Hardener total": "H1"}
    return lambda s: runs.meter_pot("P1", mix="EPOXY", lots=lots, file=file, said=s)


@exercise("pot metered")
def pot_metered_by_its_masses():
    builders.a_lot("R1")
    builders.a_lot("H1", "HRD-A")
    items.charge_tank("TK-1", lot=of("R1", "2 kg"), said=said(1))
    masses = [of("TK-1", "100 g"), of("H1", "30 g")]
    return lambda s: items.meter_masses("P1", mix="EPOXY", inputs=masses, said=s)


# ---- charts


def bore() -> Characteristic:
    return Characteristic.objects.get(name="bore")


@exercise("chart broken")
def chart_broken():
    return lambda s: spc.break_chart(bore(), words="insert changed", said=s)


@exercise("limits frozen")
def limits_frozen():
    builders.a_front()
    for n in range(20):
        record_sheet("F1", [Line("bore", [f"34.9{n % 3}"], "GA-1")], said=said(1 + n / 100))
    span = {"from_at": moment(0), "to_at": moment(9)}
    return lambda s: spc.freeze_limits(bore(), **span, words="first weeks", said=s)


@exercise("signal answered")
def signal_answered():
    builders.a_front()
    measurement = record_sheet("F1", [Line("bore", ["34.9"], "GA-1")], said=said(1))[0]
    stated = {"rule": "beyond-limits", "cause_found": True, "removed": True}
    return lambda s: spc.answer_signal(measurement, **stated, words="worn insert", said=s)


# ---- the floor besides the work


@exercise("lead called")
def lead_called():
    return lambda s: floor.call_lead("MOULD-1", said=s)


@exercise("call answered")
def call_answered():
    call = floor.call_lead("MOULD-1", said=said(5))
    return lambda s: floor.answer_call(call, says="cool", said=s)


@exercise("told by voice")
def told_by_voice():
    call = floor.call_lead("MOULD-1", said=said(5))
    return lambda s: floor.note_by_voice(call.entry, says="told", said=s)


@exercise("notice seen")
def notice_seen():
    call = floor.call_lead("MOULD-1", said=said(5))
    return lambda s: floor.see_notice(call.entry, said=s)


@exercise("sheet printed")
def sheet_printed():
    return lambda s: floor.print_sheet("MOULD-1", said=s)


@exercise("sheet returned")
def sheet_returned():
    sheet = floor.print_sheet("MOULD-1", said=said(5))
    return lambda s: floor.return_sheet(sheet, lines=1, said=s)


@exercise("shift handed over")
def shift_handed_over():
    lines = [floor.Line("call", "MOULD-1", "Called 08:00. Nobody has answered.")]
    return lambda s: floor.hand_over(lines, coming=a_person("second"), said=s)


@exercise("difference answered")
def difference_answered():
    builders.a_front()
    told = Entry.objects.latest("pk")
    found = [Difference(about=told, what="route", seen="1", judged="2")]
    (noted,) = floor.note_differences(told, found, said=said(5, by=Person.objects.program()))
    return lambda s: floor.answer_difference(noted, found="stands", words="same steps", said=s)
