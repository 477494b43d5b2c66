"""What a dossier says of inputs that were taken out or can't be ruled out, and what many inputs cost."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plant.pictures.states import STATES
from records.items.actions import take_out
from records.ledger.position import mark_of_now
from records.release.papers.dossier import dossier_pdf
from records.release.papers.dossier_facts import dossier_of
from tests import builders
from tests.papers import words_of

pytestmark = pytest.mark.django_db


def test_what_was_taken_out_or_can_t_be_ruled_out_is_listed_as_such():
    builders.a_works()
    builders.a_charge("R1", "20 kg")
    builders.a_charge("R2", "20 kg", hours=0.1)
    builders.a_draw("D1", hours=0.2)
    builders.a_pot("P1", resin="D1", hours=0.25)
    builders.a_frame("X1", hours=2)
    take_out("X1", item="B-X1", words="delaminated at the yoke", said=builders.said(5))
    told = dossier_of("X1", mark_of_now())
    sure = {row.found.code: (row.found.sure, row.found.ended) for row in told.content}
    assert sure["B-X1"] == (None, True)
    assert sure["F-X1"] == ("confirmed", False)
    words = words_of(dossier_pdf(told).content)
    assert STATES["ended"][2] in words
    assert "X1 made from B-X1 has it taken out: it was so until then" in words
    assert "delaminated at the yoke" in words


def test_a_dossier_costs_the_same_queries_for_3_inputs_and_for_30():
    builders.a_works()

    def cost(code: str, pots: int) -> int:
        front, names = f"F-{code}", [f"{code}P{n}" for n in range(pots)]
        builders.a_front(front, pots=names)
        with CaptureQueriesContext(connection) as queries:
            told = dossier_of(front, mark_of_now())
        assert {row.found.code for row in told.content} >= set(names)
        return len(queries)

    assert cost("A", 3) == cost("B", 30)
