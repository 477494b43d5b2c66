"""Papers of a works in the middle of its shift: what a step asks for, as somebody with a pencil reads it."""

import pytest

from records.floor.actions import print_sheet
from records.floor.sheet_paper import facts_of
from records.ledger.position import mark_of_now
from records.release.papers.traveller import traveller_of, traveller_pdf
from records.scenario import works
from tests import demo
from tests.papers import words_of

pytestmark = pytest.mark.django_db


def test_what_is_read_in_words_stands_on_a_traveller_and_on_a_sheet_without_unit_and_limits():
    demo.a_shift_begins()
    words = words_of(traveller_pdf(traveller_of(demo.a_mould_to_fill(), mark_of_now())).content)
    assert "Write down programme" in words
    assert "Read pressure-rise, at most 0.5 mbar" in words
    sheet = facts_of(print_sheet(works.STATIONS["Drill cell"], said=demo.said("jonas")))
    assert {line.readings for line in sheet.lines if line.readings} == {("programme",)}
