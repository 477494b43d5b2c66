"""Pages of charts: limits on trial or frozen, signals by letter with their answers, indices only when steady."""

import csv
import html
import io

import pytest
from django.urls import reverse

from plant.catalogue import specs
from plant.catalogue.models import Characteristic
from records.inspection.actions import Line, record_sheet
from records.ledger.clock import clock
from records.spc.models import Baseline, ChartBreak, SignalAnswer
from records.spc.standing import letter_of, standing_of_chart
from tests import builders
from tests.records.floor.told import tablet

pytestmark = pytest.mark.django_db
STEADY = ["34.91", "34.90", "34.92", "34.90", "34.89", "34.91", "34.90", "34.90", "34.92", "34.91"]
BORE = ["OSIER-F", "bore"]


@pytest.fixture(autouse=True)
def works():
    builders.a_works(holds={})
    builders.a_front("F1")
    with clock.at(builders.moment(200)):
        yield


def measured(*values: str, hours: float = 1) -> None:
    """The bore of F1, again and again, an hour apart."""
    for n, value in enumerate(values):
        record_sheet("F1", [Line("bore", [value], "GA-1")], said=builders.said(hours + n))


def chart():
    return standing_of_chart(Characteristic.objects.get(name="bore"))


def page(role: str = builders.ALL_ROLES) -> str:
    return tablet(role).get(reverse("spc:chart", args=BORE)).content.decode()


def press(name: str, *args: object, **told: str):
    client, address = tablet(), reverse(f"spc:{name}", args=[*BORE, *args])
    form = client.get(address).context["form"]
    return client.post(address, {field: str(form.initial[field]) for field in ("key", "drawn_at")} | told)


def test_without_values_the_page_says_what_is_missing():
    assert "Bore has not been measured yet" in page()
    measured("34.9")
    assert "Bore has too few values for limits" in page()


def test_a_steady_process_shows_capability_with_n_and_its_least():
    measured(*STEADY)
    standing = chart()
    assert (standing.is_frozen, standing.indices.shown, standing.indices.n) == (False, True, 10)
    told = page()
    assert "Bore is steady, 10 values" in told
    assert "Cpk is at least" in told
    assert "Trial limits" in told


def test_a_point_outside_is_a_signal_with_a_letter_and_takes_the_indices_away():
    measured(*STEADY, "35.30")
    assert [(told.letter, told.signal.rule) for told in chart().signals] == [
        ("A", "run-one-side"),  # the mean has gone with the one far out
        ("B", "moving-range"),
        ("C", "outside-limits"),
    ]
    assert not chart().indices.shown
    assert "No Cp or Cpk: a signal stands without a cause found." in page()


def test_an_answer_alone_does_not_bring_the_indices_back_a_removed_cause_does():
    measured(*STEADY, "35.30")
    for removed in ("no", "yes"):
        for told in chart().signals:
            press("signal_answer", told.at.pk, told.signal.rule, cause_found="yes", removed=removed, words="burr")
        assert chart().indices.shown is (removed == "yes")
    assert SignalAnswer.objects.filter(removed=True).count() == len(chart().signals)


def test_limits_frozen_from_a_span_stand_and_later_readings_never_move_them():
    measured(*STEADY, *STEADY)
    span = {"from_at": "2026-03-02T00:00", "to_at": "2026-03-03T23:00", "words": "steady since the new cutter"}
    assert press("limits_freeze", **span).status_code == 302
    before = chart().limits
    measured("34.97", "34.97", hours=60)
    assert (chart().is_frozen, chart().limits, Baseline.objects.get().n) == (True, before, 20)
    assert "Limits frozen from 20 values" in page()


def test_a_span_with_too_few_values_is_refused_in_words():
    measured(*STEADY)
    span = {"from_at": "2026-03-02T00:00", "to_at": "2026-03-03T23:00", "words": "why not"}
    assert "10 values lie in this span; limits want 20" in press("limits_freeze", **span).content.decode()
    assert "is no time" in press("limits_freeze", **span | {"to_at": "soon"}).content.decode()


def test_the_values_of_a_chart_are_taken_along_as_numbers():
    measured(*STEADY)
    file = tablet().get(reverse("spc:chart", args=BORE), {"form": "csv"})
    assert 'filename="OSIER-F-bore' in file.headers["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert [row["Value"] for row in rows] == STEADY[::-1]
    assert (rows[0]["Unit"], rows[0]["Moving range"], rows[-1]["Moving range"]) == ("F1", "0.010", "")


def freezing(**span: str):
    return tablet().get(reverse("spc:limits_freeze", args=BORE), span)


def test_new_limits_stand_beside_the_old_before_anything_is_frozen():
    measured(*STEADY, *STEADY, "35.30")
    whole = freezing().context["trial"]
    # Limits from all values are the trial limits, so the signals are the chart's own.
    assert whole.finding == f"This span is not steady: it gives {len(chart().signals)} signals under its own limits"
    first, last = (chart().points[n].measurement.at.isoformat() for n in (0, 19))
    shown = freezing(from_at=first, to_at=last)
    trial = shown.context["trial"]
    assert (trial.baseline.n, trial.in_span, len(trial.elsewhere)) == (20, [], 2)
    assert "On trial now" in shown.content.decode()
    assert Baseline.objects.count() == 0
    press("limits_freeze", from_at=first, to_at=last, words="before the burr")
    frozen = chart()
    assert (frozen.limits, frozen.moving_limits) == (trial.then.limits, trial.then.moving_limits)
    assert [row.then for row in trial.rows] == [row.now for row in freezing().context["trial"].rows]


def test_a_span_that_gives_no_limits_says_why():
    assert "Fill this in" in freezing().content.decode()
    measured(*STEADY)
    assert "10 values lie in this span" in freezing().content.decode()
    assert "is no time" in freezing(to_at="soon").content.decode()


def test_a_break_begins_a_piece_with_limits_of_its_own():
    measured(*STEADY)
    with clock.at(builders.moment(24)):
        assert press("chart_break", words="mould insert rebuilt").status_code == 302
    measured("34.95", "34.94", "34.95", hours=30)
    standing = chart()
    assert (ChartBreak.objects.count(), standing.starts) == (1, (0, 10))
    assert standing.points[0].limits.centre < standing.points[-1].limits.centre
    assert standing.points[10].moving is None


def test_a_break_after_frozen_limits_puts_the_chart_on_trial_again():
    measured(*STEADY, *STEADY)
    press("limits_freeze", from_at="2026-03-02T00:00", to_at="2026-03-03T23:00", words="steady")
    with clock.at(builders.moment(48)):
        press("chart_break", words="another cutter")
    measured(*STEADY, hours=60)
    assert not chart().is_frozen


def test_the_wall_puts_what_nobody_answered_first():
    measured(*STEADY, "35.30")
    told = tablet().get(reverse("spc:chart_list"))
    assert [row.standing.characteristic.name for row in told.context["rows"]] == ["bore", "length"]
    assert "wait for an answer" in told.content.decode()


def test_who_may_not_freeze_sees_no_button():
    measured(*STEADY)
    assert "Freeze limits" in page("engineer")
    assert "Freeze limits" not in page("auditor")


@pytest.mark.parametrize("args", [["OSIER-F", "weight"], ["NONE", "bore"]])
def test_a_chart_of_nothing_is_not_found(args):
    assert tablet().get(reverse("spc:chart", args=args)).status_code == 404


def test_a_signal_that_does_not_stand_cannot_be_answered():
    measured(*STEADY)
    assert tablet().get(reverse("spc:signal_answer", args=[*BORE, 1, "outside-limits"])).status_code == 404


def test_letters_leave_out_what_is_mistaken_for_figures():
    letters = [letter_of(n) for n in range(26)]
    assert letters[:3] + letters[-3:] == ["A", "B", "C", "Z", "AA", "AB"]
    assert not {"I", "O"} & set(letters)


def test_the_page_says_what_changed_meanwhile_and_how_the_band_is_used():
    measured(*STEADY)
    told = page()
    for word in ("What changed meanwhile", "GA-1", "10 values, no signal open"):
        assert word in told, word


@pytest.mark.parametrize("name", ["A/F", "50 % depth", "gap?", "a%2Fb", "gap/"])
def test_a_measure_with_any_sign_in_its_name_has_its_pages(name):
    builders.agreed(specs.CharacteristicSpec(name, "OSIER-F", "mm", lower="1", upper="2"))
    with clock.at(builders.moment(210)):
        sheet = record_sheet("F1", [Line(name, ["1.5"], "GA-1")], said=builders.said(205))
        client = tablet()
        for address in (
            reverse("spc:chart_list"),
            reverse("spc:chart", args=["OSIER-F", name]),
            reverse("inspection:measurement_correct", args=[sheet[0].entry.key, name]),
            reverse("trace:unit", args=["F1"]),
        ):
            assert name.casefold() in html.unescape(client.get(address).content.decode()).casefold(), address
