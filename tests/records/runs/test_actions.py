"""Runs through their acts: recorded, read, judged, decided; each refusal, a repeat that changes nothing, who may."""

from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest

from plant.catalogue import specs
from plant.equipment.writing import write_recorder
from records.items.models import Evidence, Hold, Item
from records.ledger.acts import Said, act
from records.ledger.models import Entry
from records.ledger.refusals import Conflict, Refused
from records.ledger.verifying import verify
from records.runs import actions
from records.runs.actions import LogFile, Pass, assess_run, decide_run, meter_pot, read_log_file, record_run
from records.runs.models import Assessment, AssessmentCheck, Log, LogChannel, Run, RunDecision, RunUnit
from records.runs.packing import Curve, pack, unpack
from records.runs.queries import curve_of, log_of, open_runs, record_of
from tests import builders
from tests.builders import moment, said, somebody_who_may
from tests.records.runs.files import LOGS, ramp_and_soak, stamps, written
from tests.refusing import refuses

pytestmark = pytest.mark.django_db
DAY = "2026-03-02"


@pytest.fixture(autouse=True)
def front(db):
    builders.a_works(holds={"run-failed": 1})
    return builders.a_front("F1")


def a_run(*, units=("F1",), hours=1.0, **told):
    return record_run(Pass("cure", list(units), moment(hours), **told), said=said(hours))


def cure(name="cure.csv", *, peak=80.0, start=0, end=None, hour=9, zone=""):
    probe = ramp_and_soak(soak=peak)
    rows = written("Time,TC1 (°C),TC2 (°C)", stamps(len(probe), day=DAY, hour=hour), probe, [t - 1 for t in probe])
    lines = rows.splitlines(keepends=True)
    return LogFile(name, "".join([lines[0], *lines[1:][start:end]]).encode(), zone=zone)


def read(run, file=None, hours=6.0):
    return read_log_file(run.code, file or cure(), said=said(hours))


def judged(*, peak=80.0):
    run = a_run()
    read(run, cure(peak=peak))
    return run, assess_run(run.code, recipe="CURE-A", said=said(7))


def counts():
    models = (Run, RunUnit, Log, LogChannel, Assessment, AssessmentCheck, RunDecision, Evidence, Hold, Entry)
    return [model.objects.count() for model in models]


# What is told, refused with which code and in which words.
RUNS = [
    (Pass("baking", ["F1"], moment(1)), "wrong-kind", "baking is no kind of run"),
    (Pass("cure", ["F1"], moment(2), moment(1)), "ends-before-it-begins", "ends before it begins"),
    (Pass("cure", [], moment(1)), "unknown", "which units were in the run"),
    (Pass("cure", ["F9"], moment(1)), "unknown", "F9"),
    (Pass("cure", ["FB1"], moment(1)), "wrong-kind", "FB1"),
    (Pass("cure", ["F1"], moment(1), station="PRESS-9"), "unknown", "PRESS-9"),
]


def test_a_run_that_cannot_be_is_refused():
    builders.the_lot("FB1", "FIB-UD")
    for told, code, words in RUNS:
        with refuses(code, words):
            record_run(told, said=said(1))
    assert not Run.objects.exists()


def test_a_file_is_refused_in_words_and_nothing_of_it_is_kept():
    run = a_run()
    before = counts()
    with refuses("not-a-log", "is a PDF"):
        read(run, LogFile("cure.csv", b"%PDF-1.7\n1 0 obj\n"))
    with refuses("not-a-log", "There is no zone Mars"):
        read(run, cure(zone="Mars"))
    with refuses("unknown", "No recorder is called OV-9"):
        read(run, LogFile("cure.csv", cure().raw, recorder="ov-9"))
    with refuses("unknown", "No run RN-9 is on file"):
        read_log_file("rn-9", cure(), said=said(6))
    assert counts() == before


def test_of_two_that_send_the_same_file_at_once_the_later_is_told_so(monkeypatch):
    run, other = a_run(), a_run(hours=2)
    read(run)
    monkeypatch.setattr(actions, "_stop_twin", lambda _digest: None)  # as if neither had seen the other yet
    with refuses("file-known", "came in twice at once"):
        read(other)


def test_a_file_on_file_is_a_conflict_whatever_it_is_called_now():
    run, other = a_run(), a_run(hours=2)
    read(run)
    with pytest.raises(Conflict):
        read(other, cure("copy of cure.csv"))
    with refuses("file-known", run.code):
        read(other, cure("copy of cure.csv"))
    assert Log.objects.count() == 1


def test_judging_what_cannot_be_judged_is_refused():
    run = a_run()
    with refuses("unknown", "has no recorder file yet"):
        assess_run(run.code, recipe="CURE-A", said=said(7))
    read(run)
    with refuses("unknown", "No recipe CURE-Z is in force"):
        assess_run(run.code, recipe="cure-z", said=said(7))
    with refuses("unknown", "has no channel TC9"):
        assess_run(run.code, recipe="CURE-A", roles={"probe": "TC9"}, said=said(7))
    with refuses("unknown", "There is no role oven"):
        assess_run(run.code, recipe="CURE-A", roles={"oven": "TC1"}, said=said(7))
    with refuses("unknown", "No run RN-9"):
        assess_run("RN-9", recipe="CURE-A", said=said(7))
    assert not Assessment.objects.exists()


def test_deciding_what_cannot_be_decided_is_refused():
    run = a_run()
    with refuses("unknown", "was not judged yet"):
        decide_run(run.code, choice="accept", words="good", said=said(8))
    read(run)
    assess_run(run.code, recipe="CURE-A", said=said(7))
    with refuses("unknown", "Choose what becomes of the run"):
        decide_run(run.code, choice="perhaps", words="good", said=said(8))
    with refuses("no-reason", "Write why"):
        decide_run(run.code, choice="accept", words="  ", said=said(8))
    assert not RunDecision.objects.exists()


SHOT = "Time,Resin total [g],Hardener total [g]\n2026-03-02 09:00:00,0,0\n2026-03-02 09:00:05,50,15\n{last}\n"


def meter(last="2026-03-02 09:00:10,100,30", *, lots=None, told=None, **more):
    lots = lots or {"Resin total": "R1", "Hardener total": "H1"}
    return meter_pot("P7", mix="EPOXY", lots=lots, file=LogFile("shot.csv", SHOT.format(last=last).encode(), **more),
                     said=told or said(3))  # fmt: skip


def test_a_shot_that_cannot_be_metered_is_refused():
    builders.the_lot("R1", "RES-A")
    builders.the_lot("H1", "HRD-A")
    with refuses("no-mass", "was set back"):
        meter("2026-03-02 09:00:10,20,30")
    with refuses("no-mass", "has no channel Paint"):
        meter(lots={"Paint": "R1"})
    with refuses("not-a-log", "is a PDF"):
        meter_pot("P7", mix="EPOXY", lots={}, file=LogFile("shot.csv", b"%PDF-1.7"), said=said(3))
    with refuses("unknown", "No recorder is called"):
        meter(recorder="MX-9")
    told = said(3)
    pot = meter(told=told)
    before = counts(), Item.objects.count()
    assert meter(told=told) == pot
    assert (counts(), Item.objects.count()) == before
    with refuses("file-known", "This file is on file already"):
        meter()
    assert Log.objects.count() == 1
    assert not verify().faults


def test_each_act_leaves_its_entry_and_a_repeat_changes_nothing():
    keys = [said(hours) for hours in (1, 6, 7, 8)]

    def all_of_it():
        run = record_run(Pass("cure", ["F1"], moment(1), moment(5), "MOULD-1"), said=keys[0])
        log = read_log_file(run.code, cure(), said=keys[1])
        found = assess_run(run.code, recipe="cure-a ", said=keys[2])
        decision = decide_run(run.code, choice="accept", words="seen", said=keys[3])
        return [row.pk for row in (run, log, found, decision)]

    first, before = all_of_it(), counts()
    assert (all_of_it(), counts()) == (first, before)
    kinds = ["run recorded", "log read", "run assessed", "run decided"]
    assert [Entry.objects.get(key=told.key).kind for told in keys] == kinds
    with pytest.raises(Conflict) as used:
        record_run(Pass("cure", ["F1"], moment(2)), said=keys[0])
    assert used.value.code == "conflict"
    assert not verify().faults


def test_who_has_no_role_may_do_none_of_it_and_who_has_one_may():
    builders.the_lot("R1", "RES-A")
    builders.the_lot("H1", "HRD-A")
    run, _ = judged()
    acts = {
        "run recorded": lambda s: record_run(Pass("cure", ["F1"], moment(1)), said=s),
        "log read": lambda s: read_log_file(run.code, cure("b.csv", peak=70), said=s),
        "run assessed": lambda s: assess_run(run.code, recipe="CURE-A", said=s),
        "run decided": lambda s: decide_run(run.code, choice="accept", words="seen", said=s),
        "pot metered": lambda s: meter(told=s),
    }
    for kind, do in acts.items():
        with refuses("not-allowed", "Your role may not do this"):
            do(said(9, by="visitor"))
        told = Said(somebody_who_may(kind), uuid4(), moment(9))
        do(told)
        assert Entry.objects.get(key=told.key).kind == kind


def test_a_run_within_tells_the_gates_and_holds_nothing(front):
    _, found = judged()
    assert found.verdict == "within"
    assert Evidence.objects.get(item=front, what="run").verdict == "within"
    assert not Hold.objects.exists()
    assert open_runs() == []


def test_a_run_outside_holds_its_units_until_a_person_decides(front):
    run, found = judged(peak=100.0)
    assert found.verdict == "outside"
    check = AssessmentCheck.objects.get(assessment=found)
    assert (check.got, check.verdict, check.words) == (373_150, "outside", "Hottest reading: 5 degC too high.")
    # 40 minutes up at 2 degC a minute from nine o'clock by the works' clock, which is UTC in winter.
    assert check.from_at == moment(1) + timedelta(minutes=40)
    assert Hold.objects.get().item == front
    assert [standing.run for standing in open_runs()] == [run]
    decide_run(run.code, choice="fail", words="too hot", said=said(8))
    assert open_runs() == []
    assert Evidence.objects.filter(what="run").latest("pk").verdict == "outside"
    assert not verify().faults


def test_an_assessment_superseded_opens_the_run_again():
    run, _ = judged(peak=100.0)
    decide_run(run.code, choice="accept", words="seen", said=said(8))
    assess_run(run.code, recipe="CURE-A", said=said(9))
    assert [standing.run for standing in open_runs()] == [run]


def test_a_second_download_goes_on_from_the_first_and_doubles_nothing():
    run = a_run()
    read(run, cure("first.csv", end=60))
    read(run, cure("second.csv", start=50))
    log, record = record_of(run)
    assert log.name == "second.csv"
    assert record.rows == len(ramp_and_soak())
    assert record.notes[-1].startswith("10 rows of second.csv stand in first.csv too")
    soak = specs.RuleSpec("soak-coldest", "min", level="78", level_unit="degC", lower="70")
    builders.agreed(specs.RecipeSpec("CURE-B", "cure", [soak]))
    found = assess_run(run.code, recipe="CURE-B", said=said(8))
    # Neither file alone shows the soak: the first ends in it, the second begins in it.
    assert found.verdict in ("within", "near-edge")
    check = AssessmentCheck.objects.get(assessment=found)
    assert (check.from_at - moment(1)).total_seconds() < 50 * 60


@pytest.mark.parametrize("name", ["r01_hourly_degF_12h.csv", "s13_autumn_clock_change_utf16.txt"])
def test_a_file_in_a_zone_of_its_own_can_be_judged_after_it_was_kept(name):
    run = a_run()
    log = read(run, LogFile(name, (LOGS / name).read_bytes()))
    assert log_of(log).first == log_of(log).first
    assert assess_run(run.code, recipe="CURE-A", said=said(7)).log == log


def test_the_zone_is_that_of_the_file_else_the_recorder_else_the_works():
    with act("equipment added", said(0), code="OV-1") as a:
        write_recorder(a, "OV-1", zone="Europe/Berlin")
    run = a_run()
    plain = cure().raw
    logs = [
        read(run, LogFile("a.csv", plain)),
        read(run, LogFile("b.csv", plain + b"\n", recorder="ov-1")),
        read(run, LogFile("c.csv", plain + b"\n\n", recorder="ov-1", zone="America/New_York")),
    ]
    assert [(log.zone, log.first_at.hour) for log in logs] == [
        ("Europe/London", 9),
        ("Europe/Berlin", 8),
        ("America/New_York", 14),
    ]


def test_a_curve_is_kept_as_the_file_has_it_however_large_or_small():
    log = read(a_run(), LogFile("p.csv", b"Time,P (mbar),Q\n" + b"".join(
        f"2026-03-02 09:0{n}:00,{n + 1}.25e-9,{n + 1}e30\n".encode() for n in range(4))))  # fmt: skip
    curve = curve_of(log)
    assert [curve.channels[name].tolist() for name in curve.channels] == [
        [1.25e-9, 2.25e-9, 3.25e-9, 4.25e-9],
        [1e30, 2e30, 3e30, 4e30],
    ]


def test_a_packed_curve_is_exact_at_its_decimals_and_keeps_what_is_missing():
    seconds = np.arange(3) * 5.0
    for values in ([21.5, np.nan, 1e12], [np.nan] * 3, [3e-9, 1e-9, 2e-9], [1 / 3, 2 / 3, 1.0]):
        unpacked = unpack(pack(Curve(seconds, {"TC1": np.array(values)})))
        assert unpacked.channels["TC1"] == pytest.approx(values, abs=1e-12, rel=1e-6, nan_ok=True)


def test_a_refusal_leaves_the_key_free():
    run, told = a_run(), said(6)
    with pytest.raises(Refused):
        read_log_file(run.code, LogFile("x.csv", b"nothing"), said=told)
    assert read_log_file(run.code, cure(), said=told).run_id == run.pk
