"""Touches and seconds of logged steps, the age of entries when they went up, marks by cause; and no person in them."""

from collections import Counter
from datetime import timedelta

import numpy
import pytest

from records.floor.figures import age_figures, flag_figures, step_figures
from records.floor.figuring import figures_of, percentile
from records.ledger.clock import clock
from records.ledger.models import Flag
from tests import builders
from tests.builders import moment
from tests.records.floor.told import entry, send, tablet

# NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.2: 12 resistivities of a gauge study and their 90 % point, from
# memory.
RESISTIVITIES = [
    95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682,
]  # fmt: skip


def test_the_90_per_cent_point_is_that_of_the_handbook():
    assert percentile(RESISTIVITIES, 0.9) == pytest.approx(95.1981, abs=5e-5)


@pytest.mark.parametrize("share", [0.05, 0.25, 0.5, 0.9, 0.99])
def test_percentiles_are_those_of_a_reference_library(share):
    # numpy's "weibull" is the same convention, rank p(n + 1).
    assert percentile(RESISTIVITIES, share) == pytest.approx(
        numpy.percentile(RESISTIVITIES, 100 * share, method="weibull")
    )


@pytest.mark.parametrize(("touches", "seconds"), [([], []), ([1], [1.0, 2.0])])
def test_figures_need_pairs(touches, seconds):
    with pytest.raises(ValueError, match="pairs"):
        figures_of(touches, seconds)


@pytest.mark.parametrize("share", [0, 1])
def test_a_share_lies_between(share):
    with pytest.raises(ValueError, match="between 0 and 1"):
        percentile([1.0], share)


@pytest.fixture
def works(clock_at, db):
    builders.a_works()
    builders.a_front("F1")
    clock_at(moment(5))


def a_step(operation: str, touches: int, ms: int, **more) -> dict:
    told = entry("step", hours=4.99, done=True, unit="F1", operation=operation, **more)
    return told | {"figures": {"touches": touches, "ms": ms}}


@pytest.mark.usefixtures("works")
def test_steps_are_counted_by_kind_and_week():
    send(tablet("operator"), a_step("vent", 3, 9000), a_step("vent", 7, 30000))
    (row,) = step_figures(clock.now())
    assert (row.step, row.week.isoformat(), row.figures.count) == ("vent", "2026-03-02", 2)
    assert (row.figures.touches_median, row.figures.seconds_median) == (5.0, 19.5)
    assert (row.figures.few_touches, row.figures.quick) == (0.5, 0.5)


@pytest.mark.usefixtures("works")
def test_an_entry_without_figures_counts_in_none_and_one_with_nonsense_is_told():
    bare = entry("step", hours=4, done=True, unit="F1", operation="vent")
    (taken,) = send(tablet("operator"), bare)
    (wrong,) = send(tablet("operator"), a_step("vent", -1, 5) | {"figures": {"touches": "many"}})
    assert (taken["outcome"], wrong["outcome"]) == ("taken", "refused")
    assert step_figures(clock.now()) == []


@pytest.mark.usefixtures("works")
def test_entries_are_counted_by_their_age_when_they_went_up():
    send(tablet("operator"), a_step("vent", 3, 9000), entry("move", hours=2, done=True, item="F1", station="STORE"))
    assert [(row.age, row.count, row.share) for row in age_figures(clock.now())] == [
        ("under 1 min", 1, 0.5),
        ("1 to 8 h", 1, 0.5),
    ]


# Ends of every class, a second to each side: the age in seconds and the class that it falls in.
ENDS = {
    0: "under 1 min", 59: "under 1 min", 60: "1 to 15 min", 899: "1 to 15 min", 900: "15 min to 1 h",
    3599: "15 min to 1 h", 3600: "1 to 8 h", 28799: "1 to 8 h", 28800: "over 8 h",
}  # fmt: skip


@pytest.mark.usefixtures("works")
def test_an_age_at_the_end_of_a_class_is_in_the_older_one():
    made = [clock.now() - timedelta(seconds=age) for age in ENDS]
    send(tablet("operator"), *(a_step("vent", 3, 9000) | {"made_at": at.isoformat()} for at in made))
    counted = {row.age: row.count for row in age_figures(clock.now())}
    assert counted == Counter(ENDS.values())


@pytest.mark.usefixtures("works")
def test_a_week_begins_at_midnight_of_the_works_and_none_is_cut(clock_at):
    """The works' clocks show UTC in winter, and an hour more from 29 March on."""
    for at in ("2026-03-08T23:59:59+00:00", "2026-03-09T00:00:00+00:00", "2026-04-06T00:30:00+01:00"):
        clock_at(at)
        send(tablet("operator"), a_step("vent", 3, 9000) | {"made_at": at})
    weeks = {"2026-03-02": 1, "2026-03-09": 1, "2026-04-06": 1}
    assert {row.week.isoformat(): row.count for row in age_figures(clock.now())} == weeks
    assert {row.week.isoformat(): row.figures.count for row in step_figures(clock.now())} == weeks
    clock_at("2026-04-26T23:59:59+01:00")  # the week of 2 March is the first of the eight
    assert {row.week.isoformat() for row in age_figures(clock.now())} == set(weeks)
    clock_at("2026-04-27T00:00:00+01:00")
    assert {row.week.isoformat() for row in age_figures(clock.now())} == set(weeks) - {"2026-03-02"}


@pytest.mark.usefixtures("works")
def test_marks_are_counted_by_cause_and_an_unsure_time_is_one():
    told = entry("step", hours=4, done=True, unit="F1", operation="vent") | {"time_unsure": True}
    (answer,) = send(tablet("operator"), told)
    assert answer["flags"] == ["time-unsure"]
    assert "its time is unsure" in answer["words"]
    assert Flag.objects.get().entry.happened_at == moment(4)
    assert [(row.cause, row.count) for row in flag_figures(clock.now())] == [("a time that is unsure", 1)]


@pytest.mark.usefixtures("works")
@pytest.mark.parametrize("page", ["", "unsent/", "marks/"])
def test_the_page_and_its_file_name_nobody(page):
    send(tablet("operator"), a_step("vent", 3, 9000) | {"time_unsure": True})
    manager = tablet("manager")
    shown = manager.get(f"/plant/figures/{page}").content.decode()
    file = manager.get(f"/plant/figures/{page}?form=csv").content.decode()
    assert "2026-03-02" in file
    assert "operator" not in file
    assert "Nobody is named or ranked here" in shown
    assert "operator of the works" not in shown
