"""Masses of a metered shot from the machine's running totals."""

import pytest

from records.runs.metering import NoMass, mass_of_shot
from records.runs.reading import read_log

HEAD = "Time,Resin total [g],Hardener total [g],Pump [bar]\n"


def shot(*rows):
    lines = [f"2026-03-02 08:00:{n:02d}," + row for n, row in enumerate(rows)]
    return read_log((HEAD + "\n".join(lines) + "\n").encode(), name="shot.csv", zone="Europe/Berlin")


def test_the_mass_is_what_the_total_rose_by():
    log = shot("1000.0,300.0,3", "1100.0,330.0,3", "1180.5,354.2,3")
    assert (mass_of_shot(log, "Resin total"), mass_of_shot(log, "Hardener total")) == (180_500_000, 54_200_000)


@pytest.mark.parametrize(
    ("rows", "channel", "words"),
    [
        (("10,3,3", "20,6,3", "30,9,3"), "Paint", "has no channel Paint"),
        (("10,3,3", "20,6,3", "30,9,3"), "Pump", "as a mass"),
        (("10,3,3", "20,6,3", "5,9,3"), "Resin total", "was set back"),
    ],
)
def test_a_mass_that_cannot_be_told_is_a_sentence(rows, channel, words):
    with pytest.raises(NoMass, match=words):
        mass_of_shot(shot(*rows), channel)
