"""The dossier and the traveller of a unit, read back from the file: what they say, as known when, to whom."""

import json
import re

import pytest
from django.urls import reverse

from plant.people.models import Person
from records.inspection.actions import Right, correct_measurement
from records.items.actions import place_hold
from records.ledger.actions import erase_words
from records.ledger.clock import clock
from records.ledger.marks import Mark, mark_of_tree
from records.ledger.models import Entry, TreeHead
from records.ledger.position import mark_of_now
from records.ledger.refusals import Refused
from records.ledger.sealing import seal_all
from records.quality.actions import countersign_departure
from records.release.management.commands.dossier import Command as DossierCommand
from records.release.management.commands.traveller import Command as TravellerCommand
from records.release.papers.dossier import dossier_pdf
from records.release.papers.dossier_facts import dossier_of
from records.release.papers.traveller import traveller_of, traveller_pdf
from records.steps.actions import put_aside
from tests import desks, worlds
from tests.papers import pages_of, symbols_on, words_of

pytestmark = pytest.mark.django_db
OF_THE_WEEK = pytest.mark.usefixtures("straight_week")
REMARK = " ".join(f"w{n}" for n in range(1, 6001))


def dossier(code: str = worlds.HERE, mark=None):
    return dossier_pdf(dossier_of(code, mark or mark_of_now()))


def traveller(code: str = worlds.HERE, mark=None):
    return traveller_pdf(traveller_of(code, mark or mark_of_now()))


def a_full_life() -> worlds.Waiting:
    """A hold with a long remark, a cure outside its recipe, a corrected measure, departures, one countersigned."""
    waiting = worlds.matters_waiting()
    desks.a_recipe()
    desks.a_cure([worlds.HERE], file=desks.cure_file(soak_min=20))
    with clock.at(worlds.AFTER):
        measured = Entry.objects.filter(kind="measured").latest("pk")
        right = Right("34.93", second="jonas", characteristic="shell-width")
        correct_measurement(measured.key, right, words="Ζυγός misread, 3 < 5", said=worlds.by("marta"))
        countersign_departure(waiting.decided, said=worlds.by("jonas"))
        place_hold(worlds.HERE, reason="doubt", words=REMARK, said=worlds.by())
    return waiting


@OF_THE_WEEK
def test_a_dossier_tells_everything_on_file_and_a_held_unit_says_so_first():
    waiting = a_full_life()
    made = dossier()
    pages, words = pages_of(made.content), words_of(made.content)
    first = " ".join(pages[0].split())
    assert first.index("Held No further work, no shipping.") < first.index("Not released. Nobody has let it go.")
    assert symbols_on(made.content)[0] == worlds.HERE
    for said in (
        f"Dossier of frame {worlds.HERE}",
        "Records never prove that a frame is safe",
        # went in, as the story's own answer to its question q20 has it
        *("AD-071", "AH-071", "FL-0871", worlds.RESIN),
        "Polish",
        "Hottest reading",
        "34.93",
        "is 34.93 mm since 9 Mar 2026 08:00, marta, seconded by jonas: Ζυγός misread, 3 < 5",
        waiting.departure,
        "scratch on the seat tube",
        "countersigned by jonas",
        "Noted: “shell narrow” “bearing fits”",
        desks.RECIPE,
        "at the opening of the works",
        f"End of the dossier of {worlds.HERE}.",
    ):
        assert said.lower() in words.lower(), said
    assert " ".join(re.findall(r"\bw\d+\b", words)) == REMARK
    assert "further on, whole: 6000 words" in first
    for number, page in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in page
        assert f"As known up to entry {Entry.objects.latest('pk').pk}" in page
        assert "They do not prove a frame safe" in page


@OF_THE_WEEK
def test_a_dossier_lists_what_the_story_says_went_in():
    story = [json.loads(line) for line in (worlds.STORIES / "1-straight-week.jsonl").read_text().splitlines()]
    (asked,) = [row for row in story if row.get("ask") == "q20"]
    told = dossier_of(asked["of"], mark_of_now())
    codes = {row.found.code: row.found.sure for row in told.content}
    assert {item["code"]: item["sure"] for item in asked["answer"]["items"]}.items() <= codes.items()
    words = words_of(dossier_pdf(told).content)
    assert [code for code in codes if code not in words] == []


@OF_THE_WEEK
def test_the_same_records_make_the_same_bytes_and_one_more_makes_others(clock_at):
    clock_at(worlds.AFTER)
    seal_all()
    before, mark = dossier().content, mark_of_now()
    clock_at("2027-01-01T00:00:00+01:00")
    assert dossier().content == before
    place_hold(worlds.HERE, reason="doubt", said=worlds.by())
    assert dossier().content != before
    assert dossier(mark=mark).content == before
    assert dossier(mark=mark_of_tree(TreeHead.objects.latest("size").size)).content == before


@OF_THE_WEEK
def test_a_paper_names_the_signed_tree_or_what_waits_for_its_seal(clock_at):
    clock_at(worlds.AFTER)
    words = words_of(traveller().content)
    assert (
        f"Not all sealed: {Entry.objects.count()} of these entries wait for the seal. No tree is signed yet." in words
    )
    seal_all()
    head = TreeHead.objects.get()
    assert f"Sealed: tree of {head.size} entries, root {bytes(head.root).hex()}." in words_of(traveller().content)


@OF_THE_WEEK
def test_as_known_then_a_paper_knows_nothing_that_came_later():
    a_full_life()
    with clock.at(worlds.AFTER):
        words = words_of(dossier(mark=Mark(Entry.objects.get(kind="hold lifted").pk)).content)
    assert "Put right: 0" in words
    assert "Runs: 0" in words
    assert "Lifted" in words
    assert "scratch on the seat tube" not in words
    assert "Not on file as done polish, final" in words
    with pytest.raises(Refused, match="was not on file then"):
        dossier(mark=Mark(Entry.objects.earliest("pk").pk))


@OF_THE_WEEK
def test_a_unit_that_left_says_by_whom_it_was_let_go_and_to_whom_it_went():
    first = pages_of(dossier(worlds.SHIPPED).content)[0]
    assert "Released by" in first or "Not released" in first
    assert "Shipped" in first


@OF_THE_WEEK
def test_a_person_whose_name_was_erased_reads_as_a_number(clock_at):
    clock_at(worlds.AFTER)
    person = Person.objects.get(badge="review")
    place_hold(worlds.HERE, reason="doubt", said=worlds.by("review"))
    mark = mark_of_now()
    assert "Held by The review on" in words_of(dossier().content)
    erase_words(person.name_words, reason="asked", said=worlds.by("manager"))
    words = words_of(dossier(mark=mark).content)
    assert "The review" not in words
    assert f"Held by person {person.pk} on" in words


@OF_THE_WEEK
def test_a_traveller_names_each_step_with_what_it_asks_and_leaves_room_for_what_is_open(clock_at):
    clock_at(worlds.AFTER)
    made = traveller()
    words = words_of(made.content)
    assert symbols_on(made.content) == [worlds.HERE]
    for step in ("Bond", "Polish", "Final"):
        assert step in words
    place_hold("OF-0002", reason="doubt", words=REMARK, said=worlds.by())
    held = words_of(traveller("OF-0002").content)
    assert "No further work, no shipping." in held
    assert "w1 w2 w3" in held
    assert "w5999 w6000" in held
    assert "Traveller of one preform" in words_of(traveller("TB-0003").content)


@OF_THE_WEEK
@pytest.mark.parametrize("address", ["release:unit_dossier", "release:unit_traveller"])
def test_a_paper_is_taken_away_from_the_page_of_a_unit(address, clock_at):
    clock_at(worlds.AFTER)
    client = worlds.signed_in("auditor")
    where = reverse(address, args=[worlds.HERE])
    assert where in client.get(reverse("trace:unit", args=[worlds.HERE])).content.decode()
    response = client.get(where)
    assert (response["Content-Type"], response.content[:5]) == ("application/pdf", b"%PDF-")
    assert f"-{worlds.HERE}.pdf" in response["Content-Disposition"]
    assert "no-store" in response["Cache-Control"]
    assert client.get(reverse(address, args=[worlds.RESIN])).status_code == 404
    told = client.get(where, {"as_of": "yesterday"}, follow=True)
    assert "is no time" in told.content.decode()


@pytest.fixture
def tell(capsys, monkeypatch):
    """Exit code, stdout and stderr of a command, as the shell sees them."""
    monkeypatch.setattr("records.ledger.commands.connections.close_all", lambda: None)

    def run(command: type, *argv: str) -> tuple[int, str, str]:
        code = 0
        try:
            command().run_from_argv(["manage.py", command.name, *argv])
        except SystemExit as left:
            code = int(left.code or 0)
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


KEYS = ["command", "of", "as_of", "upto_entry", "sealed", "tree_size", "root"]
KEYS += ["file", "bytes", "sha256", "pages", "letters_not_printed"]


@OF_THE_WEEK
@pytest.mark.parametrize("command", [DossierCommand, TravellerCommand])
def test_a_command_writes_the_paper_and_tells_what_it_rests_on(command, tell, tmp_path, clock_at):
    clock_at(worlds.AFTER)
    file = tmp_path / "paper.pdf"
    code, out, err = tell(command, worlds.HERE.lower(), "--out", str(file), "--json")
    told = json.loads(out)
    assert (code, err, list(told)) == (0, "", KEYS)
    assert (told["of"], told["upto_entry"], told["sealed"]) == (worlds.HERE, Entry.objects.latest("pk").pk, False)
    assert file.stat().st_size == told["bytes"]
    assert len(pages_of(file.read_bytes())) == told["pages"]
    code, out, _ = tell(command, worlds.HERE, "--out", str(file), "--as-of", "2026-03-05T12:00")
    assert (code, out.startswith(f"{file}: ")) == (0, True)
    assert [path.name for path in tmp_path.iterdir()] == ["paper.pdf"]


@OF_THE_WEEK
@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["TW-26-00420Z"], "Did you mean TW-26-004202?"),
        ([worlds.RESIN], "RB-1142 is a lot"),
        ([worlds.HERE, "--as-of", "yesterday"], "is no time"),
        ([worlds.HERE, "--as-of", "2026-02-28T12:00"], "was not on file then"),
        ([worlds.HERE, "--out", "."], "is a folder"),
        ([worlds.HERE, "--out", "nowhere/paper.pdf"], "There is no folder nowhere"),
    ],
)
def test_without_a_paper_a_command_ends_with_2_and_one_sentence(argv, told, tell, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = tell(DossierCommand, *argv, *([] if "--out" in argv else ["--out", "paper.pdf"]))
    assert (code, out, list(tmp_path.iterdir())) == (2, "", [])
    assert told in err
    assert len(err.splitlines()) == 1


def test_what_a_person_put_aside_is_held_by_that_person_on_paper_and_on_the_page(clock_at):
    worlds.a_straight_week()
    clock_at(worlds.AFTER)
    put_aside("OF-0002", words="dry patch", said=worlds.by("lead"))
    assert "Held by The lead on" in words_of(traveller("OF-0002").content)
    page = worlds.signed_in("review").get(reverse("trace:unit", args=["OF-0002"])).text
    assert "Held by The lead" in " ".join(page.split())
