"""What scanners send, brought to one code. The sample symbols are our own, made and read back with another library."""

import json
from pathlib import Path

import pytest

from plant.scans import label_message, layout_hint, read_scan
from records.ledger.refusals import Refused
from tests import sources
from tests.plant.ais_of import script

SAMPLES = Path(__file__).parent.parent / "reference" / "identification"


def samples() -> list[dict]:
    return json.loads((SAMPLES / "expected.json").read_text())["symbols"]


def cases() -> list[dict]:
    return json.loads((SAMPLES / "scan-cases.json").read_text())["cases"]


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
    message = label_message(code, is_unit=is_unit, part="RMX", copy=12, good_until="20261028").decode()
    assert (read_scan(message).code, read_scan(message).copy) == (code, 12)


def test_a_code_that_such_a_message_cannot_hold_stands_alone():
    assert label_message("RÉS-7", is_unit=False, part="RMX", copy=1) == "RÉS-7"


def test_a_wrong_keyboard_layout_is_told_and_nothing_is_put_right():
    assert read_scan("FRZß0417").code != "FRY-0417"
    assert "layout looks wrong" in layout_hint("FRZß0417")
