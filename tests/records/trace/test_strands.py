"""The drawing beside the table: one strand a row, at the row's height, broken where the row is in doubt."""

import re
from dataclasses import dataclass

from records.trace.strands import MOST_ROWS, ROW, WIDTH, by_carrier, short, strands


@dataclass(frozen=True)
class Row:
    way: tuple[str, ...]
    sure: str | None = "confirmed"


ROWS = [
    Row(("RB-26-000042-7", "PT-26-000379-3", "FT-1", "TW-3")),
    Row(("RB-26-000042-7", "PT-26-000371-0", "FT-2", "TW-2")),
    Row(("RB-26-000042-7", "PT-26-000379-3", "FT-3", "TW-1"), "possible"),
    Row(("RB-26-000042-7", "TW-9")),
]


def ends(drawn) -> list[float]:
    """Heights at which strands reach the table."""
    reach = [re.fullmatch(r"M\S+ \S+C\S+ \S+ \S+ \S+ (\S+) (\S+)", line.path).groups() for line in drawn.lines]
    return [float(top) for left, top in reach if float(left) == WIDTH]


def test_one_strand_ends_at_the_middle_of_each_row():
    drawn = strands(by_carrier(ROWS))
    assert ends(drawn) == [ROW * (n + 0.5) for n in range(len(ROWS))]
    assert drawn.height == ROW * len(ROWS)


def test_rows_of_one_pot_stand_together_and_each_pot_is_drawn_once():
    drawn = strands(by_carrier(ROWS))
    assert [box.word for box in drawn.boxes] == ["PT 371", "PT 379"]
    assert [row.way[-1] for row in by_carrier(ROWS)] == ["TW-9", "TW-2", "TW-1", "TW-3"]


def test_a_strand_in_doubt_is_broken_and_no_other():
    drawn = strands(by_carrier(ROWS))
    assert sum(line.is_broken for line in drawn.lines) == 1
    assert all(line.is_broken for line in strands([ROWS[2]]).lines)


def test_no_rows_and_too_many_have_no_drawing():
    assert strands([]) is None
    assert strands(ROWS[:1] * (MOST_ROWS + 1)) is None


def test_a_code_of_another_form_is_cut_where_it_would_not_fit():
    assert short("FELLGATE-LOT-1142") == "FELLGATE…"
