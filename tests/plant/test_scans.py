"""What scanners send, brought to one code. The sample symbols are our own, made and read back with another library."""

import json
from datetime import date
from pathlib import Path

import pytest

from plant.messages import Named, gs1_check_digit, message_of
from plant.scans import layout_hint, read_scan
from records.ledger.refusals import Refused
from tests import sources
from tests.plant.ais_of import script

SAMPLES = Path(__file__).parent.parent / "reference" / "identification"


def samples() -> list[dict]:
    return json.loads((SAMPLES / "expected.json").read_text())["symbols"]


def cases() -> list[dict]:
    return json.loads((SAMPLES / "scans.json").read_text())["cases"]


def told(text: str) -> dict:
    """What is read of a text, as the table of cases tells it."""
    try:
        scan = read_scan(text)
    except Refused as refused:
        return {"refused": refused.facts["how"], "says": str(refused)}
    return (
        {"code": scan.code, "form": scan.form}
        | ({} if scan.copy is None else {"copy": scan.copy})
        | ({"doubt": scan.doubt.how, "says": str(scan.doubt)} if scan.doubt else {})
    )


@pytest.mark.parametrize("case", cases(), ids=lambda case: case["case"])
def test_each_case_is_read_as_the_table_says(case):
    """The tablet is held to the same table in tests/browser/test_scans.py."""
    assert told(case["text"]) == {name: value for name, value in case.items() if name not in ("case", "text")}


@pytest.mark.parametrize("symbol", samples(), ids=lambda symbol: symbol["file"])
def test_each_sample_symbol_names_what_stands_in_it(symbol):
    said = symbol["symbology_identifier"] + symbol["text"]
    if "short-own-link" in symbol["file"]:
        with pytest.raises(Refused, match="names nothing of the house"):
            read_scan(said)
    else:
        expected = {"frame": "F000123", "resin": "RB260917A", "fibre": "CF-7731"}
        assert read_scan(said).code == next(code for word, code in expected.items() if word in symbol["file"])


def test_the_table_that_the_tablet_reads_by_is_that_of_the_reference_library():
    assert (sources.BASE / "records/floor/static/floor/ais.js").read_text() == script()


@pytest.mark.parametrize("code", ["TW-26-000396-8", "PT-26-000371-0", "LOT/7"])
@pytest.mark.parametrize("is_unit", [True, False])
def test_a_label_of_the_house_is_read_back_with_its_number(code, is_unit):
    named = Named(code, is_unit, copy=12, part="RMX", good_until=date(2026, 10, 28))
    message = message_of(named).text.decode()
    assert (read_scan(message).code, read_scan(message).copy) == (code, 12)


def test_a_code_that_such_a_message_cannot_hold_stands_alone():
    assert message_of(Named("RÉS-7", is_unit=False, copy=1, part="RMX")).text == "RÉS-7"


def test_a_wrong_keyboard_layout_is_told_and_nothing_is_put_right():
    assert read_scan("FRZß0417").code != "FRY-0417"
    assert "layout looks wrong" in layout_hint("FRZß0417")


def test_check_digits_are_those_of_the_published_examples():
    """Each example names its source; the rule is that of GS1 for GTIN, GLN and SSCC."""
    examples = json.loads((SAMPLES / "check-digit-examples.json").read_text())["examples"]
    assert [gs1_check_digit(one["without"]) for one in examples] == [str(one["check"]) for one in examples]
