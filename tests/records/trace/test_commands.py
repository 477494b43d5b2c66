"""The commands of the trace: what they answer under stable keys, and when they have no answer."""

import json

import pytest

from records.items.actions import renumber, take_out
from records.items.queries import item_by_code
from records.ledger.clock import clock
from records.trace.management.commands.madefrom import Command as MadeFrom
from records.trace.management.commands.whereused import Command as WhereUsed
from tests import builders, worlds
from tests.builders import of, said

pytestmark = pytest.mark.django_db
KEYS = ["command", "of", "kind", "part", "once", "as_of", "upto_entry", "may_grow", "cut_off", "counts"]
KEYS += ["frames", "others", "below", "loops"]
ROW_KEYS = ["code", "kind", "part", "sure", "share", "ended", "once", "place", "path"]


@pytest.fixture(autouse=True)
def connections_stay_open(monkeypatch):
    """A command closes its connections when it ends; the test still needs its own."""
    monkeypatch.setattr("records.ledger.commands.connections.close_all", lambda: None)


@pytest.fixture
def tell(capsys):
    """Exit code, stdout and stderr of a command, as the shell sees them."""

    def run(command: type, *argv: str) -> tuple[int, str, str]:
        code = 0
        try:
            command().run_from_argv(["manage.py", command.__module__.rsplit(".", 1)[-1], *argv])
        except SystemExit as left:
            code = int(left.code or 0)
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


@pytest.fixture
def answered(tell):
    """The answer of a command as JSON, where it has one."""

    def ask(command: type, *argv: str) -> dict:
        code, out, err = tell(command, *argv, "--json")
        assert (code, err) == (0, "")
        return json.loads(out)

    return ask


def codes(rows: list[dict]) -> set[str]:
    return {row["code"] for row in rows}


def test_the_answer_has_its_stable_keys(answered):
    worlds.a_straight_week()
    answer = answered(WhereUsed, worlds.RESIN)
    assert list(answer) == KEYS
    assert {tuple(row) for row in answer["frames"] + answer["others"]} == {tuple(ROW_KEYS)}
    assert codes(answer["frames"]) == {worlds.SHIPPED, worlds.HERE}
    assert answer["counts"] == {"confirmed": len(answer["frames"]) + len(answer["others"]), "possible": 0} | {
        "ended": 0,
        "below": 0,
    }


def test_each_path_leads_from_the_thing_asked_for_to_the_thing_found(answered):
    worlds.a_straight_week()
    for row in answered(WhereUsed, worlds.RESIN)["frames"]:
        assert (row["path"][0], row["path"][-1]) == (worlds.RESIN, row["code"])


def test_made_from_is_the_other_way_round(answered):
    worlds.a_straight_week()
    assert worlds.RESIN in codes(answered(MadeFrom, worlds.HERE)["others"])
    assert codes(answered(MadeFrom, worlds.HERE)["frames"]) == set()


def test_only_names_kinds_and_lot_stands_for_each_of_them(answered):
    worlds.a_straight_week()
    assert codes(answered(WhereUsed, worlds.RESIN, "--only", "frame")["others"]) == set()
    kinds = {row["kind"] for row in answered(MadeFrom, worlds.HERE, "--only", "lot", "--only", "front")["others"]}
    assert "front" in kinds
    assert "rear" not in kinds
    assert {"resin", "fibre"} <= kinds


def test_what_was_known_on_a_past_day_is_answered_as_then(answered):
    worlds.a_straight_week()
    answer = answered(WhereUsed, worlds.RESIN, "--as-of", "2026-03-02T12:00")
    assert (answer["frames"], answer["as_of"]) == ([], "2026-03-02T12:00")
    assert answer["upto_entry"] < answered(WhereUsed, worlds.RESIN)["upto_entry"]


def test_what_was_taken_out_is_found_only_when_asked(answered):
    builders.a_works()
    builders.a_frame("X1")
    take_out("X1", item="B-X1", words="delaminated", said=said(5))
    assert "X1" not in codes(answered(WhereUsed, "B-X1")["frames"])
    (row,) = answered(WhereUsed, "B-X1", "--ended")["frames"]
    assert (row["code"], row["ended"], row["sure"], row["share"]) == ("X1", True, None, None)


def test_what_lies_below_the_cut_off_is_counted_apart(answered):
    builders.a_works()
    builders.fibre()
    builders.a_spool("SP2")
    builders.wind("T9", part="TUBE", spools=[of("SP2", "20 g", possible=0.25)], said=said(1))
    (row,) = [row for row in answered(WhereUsed, "SP2", "--cut-off", "0.25")["others"] if row["code"] == "T9"]
    assert (row["sure"], row["share"]) == ("possible", "0.25")
    answer = answered(WhereUsed, "SP2", "--cut-off", "0.26")
    assert (codes(answer["others"]), codes(answer["below"]), answer["cut_off"]) == (set(), {"T9"}, "0.26")


def test_an_old_number_and_one_without_dashes_find_the_thing(answered):
    builders.a_works()
    builders.a_frame("X1")
    renumber("X1", to="TW-26-000396-8", words="house number", said=said(4))
    for typed in ("x1", "tw26396-8", " TW-26-000396-8 "):
        assert answered(MadeFrom, typed)["of"] == "TW-26-000396-8"
    assert answered(MadeFrom, "X1")["once"] == ["X1"]


def test_the_same_number_with_its_right_check_digit_is_offered(tell):
    builders.a_works()
    builders.a_frame("X1")
    renumber("X1", to="TW-26-000396-8", words="house number", said=said(4))
    code, _, err = tell(MadeFrom, "TW-26-000396-3")
    assert (code, "Did you mean TW-26-000396-8?" in err) == (2, True)


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["RB-II42"], "Did you mean RB-1142?"),
        (["RB-26-000042-3"], "No such code here: RB-26-000042-3"),
        (["RB-1142", "--as-of", "2020-01-01T00:00Z"], "RB-1142 was not on file yet at that time."),
        (["RB-1142", "--cut-off", "half"], "half is no share"),
        (["RB-1142", "--cut-off", "1.5"], "lies between 0 and 1"),
        (["RB-1142", "--cut-off", "nan"], "nan is no share"),
        (["RB-1142", "--only", "frmae"], "frmae is no kind of part; write one of lot, fibre"),
        (["RB-1142", "--as-of", "yesterday"], "is no time"),
        (["RB-1142", "--as-of", ""], "is no time"),
        (["RB-1142", "--as-of", "0001-01-01T00:00+14:00"], "is no time"),
        (["RB-1142", "--as-of", "9999-12-31T23:59:59-14:00"], "is no time"),
        (["RB-1142", "--as-of", "2026-03-29T02:30"], "does not exist"),
        (["RB-1142", "--as-of", "2026-10-25T02:30"], "comes twice"),
        (["RB-1142", "--root", "x"], "unrecognized arguments"),
        ([], "required"),
    ],
)
def test_without_an_answer_it_ends_with_2_and_one_sentence(tell, argv, told):
    worlds.a_straight_week()
    code, out, err = tell(WhereUsed, *argv)
    assert (code, out) == (2, "")
    assert told in err
    assert len(err.splitlines()) == 1


def test_the_table_begins_with_the_finding_and_names_how_sure(tell):
    worlds.a_straight_week()
    code, out, err = tell(WhereUsed, worlds.RESIN)
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == f"2 frames have {worlds.RESIN}."
    assert "has it" in out


def test_frames_in_doubt_alone_are_not_told_as_having_it(tell):
    builders.a_works()
    builders.a_spool("SP2")
    builders.wind("T9", part="TUBE", spools=[of("SP2", "20 g", possible=0.5)], said=said(0))
    builders.a_front("F9", tube="T9")
    with clock.at(builders.moment(1)):
        builders.a_step("F9", "vent")
        builders.a_step("F9", "trim")
        builders.a_frame("X9", front="F9")
    assert tell(WhereUsed, "SP2")[1].startswith("1 frame may have SP2, none surely.")
    assert item_by_code("X9").code == "X9"
