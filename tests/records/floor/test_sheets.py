"""Emergency sheets: numbered, printed the same twice, typed in with both names, looked for until they are back."""

import json
from dataclasses import replace
from urllib.parse import parse_qsl, urlsplit

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from plant.codes import house_code
from records.floor.actions import print_sheet, return_sheet
from records.floor.models import EmergencySheet, SheetReturn
from records.floor.sheet_paper import facts_of, sheet_pdf
from records.floor.sheets import lines_of, sheets_out
from records.items.actions import place_hold
from records.ledger.acts import Paper
from records.ledger.models import Flag, FromPaper, Photo, Unplaced
from records.ledger.photos import keep_photo
from records.ledger.refusals import Refused
from records.ledger.verifying import verify
from records.steps.models import StepRecord
from records.trace.way import way_of_item
from tests import builders, papers
from tests.builders import moment, said
from tests.photos import a_picture
from tests.records.floor.told import entry, send, tablet

pytestmark = pytest.mark.django_db
PLACE = "MOULD-1"


@pytest.fixture(autouse=True)
def works(clock_at):
    builders.a_works()
    builders.a_front("F1")
    clock_at(moment(5))


def a_sheet() -> EmergencySheet:
    return print_sheet(PLACE, said=said(4, by="lead"))


def from_line(sheet, n=1, no_photo="no-camera"):
    told = entry("step", hours=3, done=True, unit="F1", operation="vent")
    why = {"no_photo": no_photo} if no_photo else {}
    return told | {"paper": {"sheet": sheet.code, "line": n, "by": "operator", **why}}


def test_a_sheet_is_numbered_by_the_house_and_names_units_that_wait_and_steps_for_any():
    sheet = a_sheet()
    assert sheet.code == house_code("ES", 2026, 1)
    lines = [(here.line.unit.code if here.line.unit else "", here.line.operation.name) for here in lines_of(sheet)]
    assert lines[0] == ("F1", "vent")
    assert lines.count(("", "trim")) == 4


def test_a_sheet_on_paper_reads_back_and_is_the_same_twice():
    sheet = a_sheet()
    first = sheet_pdf(facts_of(sheet)).content
    words = papers.words_of(first)
    assert sheet.code in words
    assert "Readings and codes of what went in" in words
    assert "edge [mm]" in words
    found = [code for page in range(len(papers.pages_of(first))) for code in papers.symbols_on(first, page)]
    assert sheet.code in found
    assert "F1" in found
    send(tablet("lead"), from_line(sheet))
    return_sheet(sheet, lines=1, said=said(5, by="lead"))
    assert sheet_pdf(facts_of(EmergencySheet.objects.get())).content == first


def test_an_entry_from_a_sheet_names_paper_time_line_and_both_people():
    sheet = a_sheet()
    (answer,) = send(tablet("lead"), from_line(sheet, no_photo="") | {"photos": [keep_photo(a_picture()).sha256]})
    assert answer["outcome"] == "taken", answer
    step = StepRecord.objects.get(operation__name="vent")
    row = FromPaper.objects.get()
    assert (row.sheet, row.line, row.maker.badge, row.entry.by.badge) == (sheet.code, 1, "operator", "lead")
    assert (step.entry.happened_at, row.entry.pk) == (moment(3), step.entry.pk)
    assert verify().faults == ()
    told = next(happening for happening in way_of_item(step.unit) if happening.what == "vent").told
    assert f"written by operator of the works on {sheet.code}, line 1" in told
    assert "typed in by lead of the works" in told
    assert [here.line.n for here in lines_of(sheet) if here.entries] == [1]


def test_a_line_typed_in_twice_is_kept_and_marked():
    sheet = a_sheet()
    send(tablet("lead"), from_line(sheet))
    (answer,) = send(tablet("lead"), from_line(sheet))
    assert "typed-before" in answer["flags"]
    assert f"line 1 of {sheet.code} was typed in before" in answer["words"]


def test_the_same_entry_sent_again_is_no_second_one():
    sheet = a_sheet()
    told = from_line(sheet)
    send(tablet("lead"), told)
    assert send(tablet("lead"), told)[0]["repeat"]
    assert not Flag.objects.filter(code="typed-before").exists()


@pytest.mark.parametrize("paper", [{"sheet": "ES-26-000099-9", "line": 1, "by": "lead"}, {"line": "x"}])
def test_a_number_that_was_never_printed_is_told(paper):
    told = entry("step", hours=3, done=True, unit="F1", operation="vent") | {"paper": paper}
    (answer,) = send(tablet("lead"), told)
    assert answer["outcome"] == "refused"
    assert not FromPaper.objects.exists()


def test_a_sheet_is_out_until_it_is_back():
    sheet = a_sheet()
    assert [row.code for row in sheets_out()] == [sheet.code]
    return_sheet(sheet, lines=0, said=said(5, by="lead"))
    assert list(sheets_out()) == []
    with pytest.raises(Refused) as refused:
        return_sheet(sheet, lines=0, said=said(5, by="second"))
    assert refused.value.code == "returned"


def test_more_lines_than_the_sheet_has_are_not_counted():
    with pytest.raises(Refused) as refused:
        return_sheet(a_sheet(), lines=99, said=said(5, by="lead"))
    assert refused.value.code == "too-many"
    assert not SheetReturn.objects.exists()


def test_a_line_is_typed_in_by_the_steps_own_questions():
    sheet, lead = a_sheet(), tablet("lead")
    address = f"/review/bad-days/{sheet.code}/line/1/"
    page = lead.get(address).content.decode()
    assert "Whose initials stand there" in page
    assert "may stay empty" not in page  # one of photo and reason has to be told
    told = {"at": "2026-03-02T11:00", "by": "operator"}
    bare = lead.post(address, told).content.decode()
    assert "Take a photo of the paper, or say below why none can be made." in bare
    sent = lead.post(address, told | {"photo": SimpleUploadedFile("sheet.jpg", a_picture(), "image/jpeg")})
    walk = dict(parse_qsl(urlsplit(sent.url).query))
    assert (walk["sheet"], walk["line"], walk["paper_by"], walk["unit"]) == (sheet.code, "1", "operator", "F1")
    page = lead.get(sent.url)
    assert f"{sheet.code}, line 1" in page.content.decode()
    assert "its photo is kept" in page.content.decode()
    assert json.loads(page.context["entry"])["photos"] == [walk["paper_photo"]]
    told = {**walk, "key": str(page.context["key"]), "made_at": page.context["made_at"]}
    assert lead.post(sent.url, told).status_code == 302
    row = FromPaper.objects.select_related("entry").get()
    assert (row.maker.badge, row.entry.happened_at) == ("operator", moment(3))
    assert Photo.objects.get(entry=row.entry).sha256 == walk["paper_photo"]


def test_a_paper_that_cannot_be_photographed_is_typed_in_with_why_not_and_marked():
    sheet, lead = a_sheet(), tablet("lead")
    told = {"at": "2026-03-02T11:00", "by": "operator", "no_photo": "paper-gone"}
    sent = lead.post(f"/review/bad-days/{sheet.code}/line/1/", told)
    page = lead.get(sent.url)
    assert "the paper is lost or destroyed" in page.content.decode()
    walk = dict(parse_qsl(urlsplit(sent.url).query))
    told = {**walk, "key": str(page.context["key"]), "made_at": page.context["made_at"]}
    assert lead.post(sent.url, told).status_code == 302
    flag = Flag.objects.get(code="paper-not-shown")
    assert json.loads(flag.facts) == {"why": "the paper is lost or destroyed"}
    assert verify().faults == ()


def test_an_entry_sent_by_hand_shows_its_paper_too_and_is_kept_until_it_does():
    sheet, lead = a_sheet(), tablet("lead")
    told = from_line(sheet, no_photo="")
    (answer,) = send(lead, told)
    assert (answer["outcome"], answer["code"]) == ("refused", "paper-not-shown")
    assert f"Line 1 of {sheet.code} came without a photo of the paper." in answer["words"]
    assert not StepRecord.objects.filter(operation__name="vent").exists()
    assert Unplaced.objects.get().code == "paper-not-shown"  # it has happened: nothing is lost
    (shown,) = send(lead, told | {"photos": [keep_photo(a_picture()).sha256]})
    assert shown["outcome"] == "taken", shown
    assert send(lead, told | {"photos": [keep_photo(a_picture()).sha256]})[0]["repeat"]


def test_no_other_act_from_paper_goes_around_its_photo_either():
    paper = Paper("ES-26-000001-9", 1, said(3).by)
    with pytest.raises(Refused) as refused:
        place_hold("F1", reason="leak", said=replace(said(3), paper=paper))
    assert refused.value.code == "paper-not-shown"
    place_hold("F1", reason="leak", said=replace(said(3), paper=paper, told={"no_photo": "the paper is lost"}))


def test_why_there_is_no_photo_is_one_of_a_few():
    told = entry("step", hours=3, done=True, unit="F1", operation="vent")
    told["paper"] = {"sheet": a_sheet().code, "line": 1, "by": "operator", "no_photo": "too lazy"}
    (answer,) = send(tablet("lead"), told)
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")


def test_what_a_line_lacks_is_asked_for_in_the_words_of_the_house():
    sheet, lead = a_sheet(), tablet("lead")
    address = f"/review/bad-days/{sheet.code}/line/1/"
    lacks = lead.post(address, {"at": "", "by": ""}).content.decode()
    assert "Fill this in." in lacks
    assert "Choose one." in lacks
    assert "This field is required" not in lacks
    ahead = lead.post(address, {"at": "2099-03-02T11:00", "by": "operator"})
    assert "This is still to come. Read the day and the time on the paper again." in ahead.content.decode()


def test_a_line_for_any_unit_asks_for_its_code():
    sheet, lead = a_sheet(), tablet("lead")
    blank = next(here.line.n for here in lines_of(sheet) if here.line.operation.name == "trim")
    address = f"/review/bad-days/{sheet.code}/line/{blank}/"
    told = {"at": "2026-03-02T11:00", "by": "operator", "no_photo": "no-camera"}
    answer = lead.post(address, told | {"unit": "F99"})
    assert "No such code here" in answer.content.decode()
    assert lead.post(address, told | {"unit": "f1"}).status_code == 302
