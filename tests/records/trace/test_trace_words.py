"""Rows of a trace as its page sets them: every text from records escaped, every link the one that its address has."""

import pytest
from django.urls import reverse

from records.items.queries import Names
from records.trace.queries import Found
from records.trace.templatetags.trace_words import any_share, found_rows


def found(code="X1", **changes):
    told = {
        "item": 1,
        "names": Names(code),
        "kind": "frame",
        "part": "OSIER",
        "cls": 0,
        "share_ppb": None,
        "way": ("R1", code),
        "state": "here",
        "at": "Bond 1",
        "held": False,
    }
    return Found(**told | changes)


@pytest.mark.parametrize("code", ["X1", "FL/7", "A B", "A&B", "A%B", "A?B#C", "Ö-1", "A'B", 'A"B', "A;B=C,D~@:+!"])
def test_a_link_is_the_address_of_the_item(code):
    """Django's own ``reverse`` is the measure."""
    row = found_rows([found(code)])
    address = row.split('href="')[1].split('"')[0].replace("&amp;", "&").replace("&#x27;", "'")
    assert address == reverse("trace:unit", args=[code])


def test_texts_from_records_are_escaped():
    bad = "<b>&"
    one = found(bad, names=Names(bad, (bad,)), part=bad, way=("R1", bad, bad), at=bad)
    row = found_rows([one, found(state="in", at=bad)])
    assert bad not in row
    assert row.count("&lt;b&gt;&amp;") == 6


def test_the_way_stands_in_order_between_the_two_ends():
    row = found_rows([found(way=("R1", "P1", "T1", "S1", "X1"))])
    assert [row.index(f">{code}<") for code in ("X1", "P1", "T1", "S1")] == sorted(
        row.index(f">{code}<") for code in ("X1", "P1", "T1", "S1")
    )
    assert row.count('class="first"') == 1
    assert ">R1<" not in row
    assert ">straight<" in found_rows([found()])


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"state": "scrapped"}, "Scrapped"),
        ({"state": "shipped", "at": "Dealer Larkmere"}, "Dealer Larkmere"),
        ({"state": "out", "at": "Painter Quarry Row"}, "Painter Quarry Row"),
        ({"at": None}, "In the works"),
        ({"cls": 1}, "Can&#x27;t rule out"),
        ({"cls": 2}, "Taken out"),
        ({"held": True}, "Held"),
        ({"names": Names("X2", ("X1",))}, "once X1"),
        ({"cls": 1, "share_ppb": 246_000_000}, "24.6 %"),
    ],
)
def test_a_row_says_how_it_stands(changes, word):
    assert word in found_rows([found(**changes)])
    assert word not in found_rows([found()])


def test_shares_have_a_column_where_one_row_has_a_share():
    without, with_one = found(), found("X2", cls=1, share_ppb=1)
    assert not any_share([without])
    assert found_rows([without]).count("<td") == 5
    assert found_rows([without, with_one]).count("<td") == 12
