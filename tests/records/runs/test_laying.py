"""Runs laid over each other: one clock, a line a run, checks side by side; what can't be laid is told."""

from datetime import timedelta

import pytest
from django.urls import reverse

from records.ledger.clock import clock
from records.runs.actions import Pass, record_run
from records.runs.laying import FIRST_ROW, lay_over
from tests import desks, worlds

pytestmark = pytest.mark.usefixtures("straight_week", "db")


@pytest.fixture(autouse=True)
def after():
    with clock.at(worlds.AFTER):
        yield


@pytest.fixture
def cures():
    """A good cure, and one whose soak was too short."""
    desks.a_recipe()
    return [
        desks.a_cure([worlds.HERE]).code,
        desks.a_cure([worlds.SHIPPED], file=desks.cure_file("short.csv", soak_min=20)).code,
    ]


def places(path: str) -> list[float]:
    return [float(point.split()[0]) for point in path.replace("M", "L").split("L")[1:]]


def test_the_clock_of_each_begins_at_its_soak(cures):
    page = lay_over(cures)
    assert page.zero == "soak"
    assert page.zeros == (FIRST_ROW, "heat-up", "soak", "cool-down")
    words = {word: place for place, word in page.picture.clock}
    for laid in page.runs:
        starts = laid.curve.seconds - laid.phases["soak"]
        line = next(line for line in page.picture.panels[0].lines if line.name == laid.run.code)
        scale = words["0:30"] - words["0:00"]
        assert places(line.path)[0] == pytest.approx(words["0:00"] + starts[0] / 1800 * scale, abs=0.2)


def test_of_several_probes_the_lowest_and_the_highest_are_drawn_and_a_run_keeps_its_line(cures):
    page = lay_over(cures, FIRST_ROW)
    assert [panel.title for panel in page.picture.panels] == [
        "Temperature, lowest of a run’s probes",
        "Temperature, highest of a run’s probes",
    ]
    assert [[(line.name, line.dash) for line in panel.lines] for panel in page.picture.panels] == [
        [(cures[0], 1), (cures[1], 2)]
    ] * 2
    lowest, highest = (panel.lines[0].last for panel in page.picture.panels)
    assert float(highest) - float(lowest) == pytest.approx(1.5)  # the second probe reads 1.5 K less


def test_checks_stand_side_by_side_and_the_head_names_what_is_outside(cures):
    page = lay_over(cures)
    assert page.finding == f"{cures[1]} outside the recipe, of 2 runs"
    soak = page.compared[0]
    assert [cell.verdict for cell in soak.cells] == ["within", "outside"]
    assert soak.cells[1].side == "outside-low"


def test_what_cannot_be_laid_is_told_in_a_sentence(cures):
    told = Pass("leak-test", [worlds.HERE], worlds.AFTER - timedelta(hours=3), worlds.AFTER, "Press 1")
    other = record_run(told, said=worlds.by("marta")).code
    empty = record_run(Pass("cure", [worlds.HERE], worlds.AFTER, None, "Press 1"), said=worlds.by("marta")).code
    page = lay_over([*cures, "RN-9", other, empty, cures[0]])
    assert [laid.run.code for laid in page.runs] == cures
    assert page.left_out == (
        "No run RN-9 is on file. Look again.",
        f"{other} is a leak test: only runs of one kind share a clock with {cures[0]}.",
        f"{empty} has no recorder file.",
    )


def test_a_fifth_run_is_left_out_by_name():
    desks.a_recipe()
    codes = [desks.a_cure([worlds.HERE], file=desks.cure_file(f"{n}.csv", soak_min=30 + n)).code for n in range(5)]
    page = lay_over(codes)
    assert [laid.dash for laid in page.runs] == [1, 2, 3, 4]
    assert page.left_out == (f"{codes[4]} is left out: 4 lines are the most that can be told apart.",)


def test_a_run_that_was_not_judged_is_laid_from_its_first_row(cures):
    plain = desks.a_cure([worlds.HERE], file=desks.cure_file("plain.csv", soak_min=40), judge=False).code
    page = lay_over([cures[0], plain], "soak")
    assert (page.zero, page.zeros) == (FIRST_ROW, (FIRST_ROW,))
    assert page.finding == f"{plain} not judged, of 2 runs"


def test_the_page_of_a_run_offers_those_before_it(cures):
    review = worlds.signed_in("review")
    later = record_run(Pass("cure", [worlds.HERE], worlds.AFTER, None, "Press 1"), said=worlds.by("marta")).code
    shown = review.get(reverse("runs:run", args=[later])).content.decode()
    assert all(f'name="run" value="{code}"' in shown for code in [*cures, later])
    both = review.get(reverse("runs:runs_over"), {"run": [cures[0], f" {cures[1]} , RN-9"]}).content.decode()
    assert f"<h1>{cures[1]} outside the recipe, of 2 runs</h1>" in both
    assert "No run RN-9 is on file" in both
    none = review.get(reverse("runs:runs_over")).content.decode()
    assert "Name the runs that are to be laid over each other" in none
