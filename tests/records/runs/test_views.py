"""Pages of runs: recorded, a file read in, judged, decided; a file that is none is told; a recipe proposed."""

import csv
import io
from datetime import datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import load_workbook

from plant.catalogue.models import RecipeRevision
from records.items.models import Evidence
from records.ledger.clock import clock
from records.runs.models import Assessment, Log, Run
from tests import desks, worlds

pytestmark = pytest.mark.usefixtures("straight_week", "db")


@pytest.fixture(autouse=True)
def after():
    with clock.at(worlds.AFTER):
        yield


def text(response) -> str:
    return response.content.decode()


def press(client, name: str, *args: object, **told: object):
    return worlds.press(client, reverse(f"runs:{name}", args=args), **told)


def an_upload(raw: bytes | None = None, name: str = "cure.csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, desks.cure_file().raw if raw is None else raw)


def test_a_run_is_recorded_read_judged_and_within():
    desks.a_recipe()
    engineer = worlds.signed_in("engineer")
    told = {"kind": "cure", "units": worlds.HERE, "began_at": "2026-03-09T05:00", "station": "Press 1"}
    assert press(engineer, "run_record", **told).status_code == 302
    run = Run.objects.get()
    assert press(engineer, "log_read", run.code, file=an_upload()).status_code == 302
    assert press(engineer, "run_assess", run.code, recipe=desks.RECIPE).status_code == 302
    page = text(engineer.get(reverse("runs:run", args=[run.code])))
    assert f"{run.code} is within its recipe" in page
    assert "≥ 60" in page
    assert "A passed record does not prove the part" in page


def listed(client, **asked: str) -> list[str]:
    rows = client.get(reverse("runs:run_list"), asked).context["list"].table.rows
    return [row.record.run.code for row in rows]


def test_the_list_is_sorted_and_narrowed_by_its_address_and_taken_along_whole():
    desks.a_recipe()
    one = desks.a_cure([worlds.HERE])
    other = desks.a_cure([worlds.SHIPPED], file=desks.cure_file("bad.csv", soak_min=20))
    review = worlds.signed_in("review")
    assert listed(review, sort="run") == [one.code, other.code]
    assert listed(review, sort="-run") == [other.code, one.code]
    assert listed(review, unit=worlds.HERE.lower()) == [one.code]
    assert listed(review, kind="leak-test") == listed(review, since="2031-01-01") == []
    assert "Nothing is on file that fits" in text(review.get(reverse("runs:run_list"), {"kind": "leak-test"}))
    taken = review.get(reverse("runs:run_list"), {"form": "csv", "unit": worlds.HERE})
    head, row = csv.reader(taken.content.decode().splitlines())
    assert (head[0], row[0], row[2]) == ("Run", one.code, worlds.HERE)
    assert datetime.fromisoformat(row[4]) == one.began_at
    book = load_workbook(io.BytesIO(review.get(reverse("runs:run_list"), {"form": "xlsx"}).content))
    cells = [[cell.value for cell in line] for line in book.active.rows]
    assert sorted(line[0] for line in cells[1:]) == sorted([one.code, other.code])
    assert cells[1][5] == 1


def test_a_run_outside_is_told_stands_first_and_waits_for_review():
    desks.a_recipe()
    good = desks.a_cure([worlds.HERE])
    bad = desks.a_cure([worlds.HERE], file=desks.cure_file("bad.csv", soak_min=20))
    review = worlds.signed_in("review")
    assert listed(review) == [bad.code, good.code]
    page = text(review.get(reverse("runs:run", args=[bad.code])))
    assert "The coldest probe was hot enough for" in page
    assert press(review, "run_decide", bad.code, choice="fail", words="").status_code == 200
    assert press(review, "run_decide", bad.code, choice="fail", words="too short").status_code == 302
    assert Evidence.objects.filter(what="run").order_by("-pk")[0].verdict == "outside"
    assert "too short" in text(review.get(reverse("runs:run", args=[bad.code])))


@pytest.mark.parametrize(
    ("raw", "words"), [(b"\x89PNG\r\n\x1a\n" + bytes(80), "picture"), (b"   \n", ""), (b"a letter about nothing", "")]
)
def test_a_file_that_is_no_log_is_refused_in_words_and_nothing_is_kept(raw, words):
    run = desks.a_cure([worlds.HERE], file=desks.cure_file(), judge=False)
    before = Log.objects.count()
    page = press(worlds.signed_in("engineer"), "log_read", run.code, file=an_upload(raw, "photo.png"))
    assert page.status_code == 200
    assert page.context["form"].non_field_errors()
    assert words in text(page)
    assert Log.objects.count() == before


def test_the_same_file_is_kept_once():
    run = desks.a_cure([worlds.HERE], judge=False)
    page = press(worlds.signed_in("engineer"), "log_read", run.code, file=an_upload())
    assert "This file is on file already" in text(page)


def test_a_second_press_reads_the_file_once():
    desks.a_recipe()
    engineer = worlds.signed_in("engineer")
    press(engineer, "run_record", kind="cure", units=worlds.HERE, began_at="2026-03-09T05:00")
    run = Run.objects.get()
    form = engineer.get(reverse("runs:log_read", args=[run.code])).context["form"]
    hidden = {field: str(form.initial[field]) for field in ("key", "drawn_at")}
    for _ in range(2):
        sent = engineer.post(reverse("runs:log_read", args=[run.code]), hidden | {"file": an_upload()})
        assert sent.status_code == 302
    assert Log.objects.count() == 1


def test_the_file_comes_back_byte_for_byte():
    desks.a_cure([worlds.HERE], judge=False)
    answer = worlds.signed_in("review").get(reverse("runs:log_file", args=[Log.objects.get().pk]))
    assert answer.content == desks.cure_file().raw
    assert answer["Content-Disposition"] == 'attachment; filename="cure.csv"'


def test_a_run_without_a_file_cannot_be_judged_and_says_so():
    desks.a_recipe()
    engineer = worlds.signed_in("engineer")
    press(engineer, "run_record", kind="cure", units=worlds.HERE, began_at="2026-03-09T05:00")
    code = Run.objects.get().code
    assert "has no recorder file yet" in text(press(engineer, "run_assess", code, recipe=desks.RECIPE))
    assert f"{code} has no recorder file yet" in text(engineer.get(reverse("runs:run", args=[code])))


def test_a_recipe_is_written_back_as_it_was_stated():
    revision = desks.a_recipe()
    engineer = worlds.signed_in("engineer")
    form = engineer.get(reverse("runs:recipe_propose"), {"of": revision.pk}).context["form"]
    told = {name: field.initial for name, field in form.fields.items() if field.initial} | dict(form.initial)
    told |= {"upper-2": "90", "reason": "the data sheet says so"}
    del told["key"], told["drawn_at"]
    assert press(engineer, "recipe_propose", **told).status_code == 302
    newest = RecipeRevision.objects.order_by("-pk")[0]
    assert (newest.revision, newest.proposal.reason.text) == ("2", "the data sheet says so")
    rules = {name: words for name, words, _ in engineer.get(reverse("runs:recipe", args=[newest.pk])).context["rules"]}
    assert rules == {
        "Soak, coldest probe, level 75 °C": "at least 60",
        "Hottest reading": "at most 90",
        "Heat-up, fastest 5 min": "at most 4",
    }


def test_a_limit_without_a_number_is_told_at_its_field():
    told = {"recipe": "RP-9", "kind": "cure", "feature-1": "peak", "reason": "a trial"}
    page = press(worlds.signed_in("engineer"), "recipe_propose", **told)
    assert "Write a lower or an upper limit" in text(page)


@pytest.mark.parametrize("name", ["run", "run_decide", "log_read", "run_assess"])
def test_a_run_that_is_not_on_file_is_not_found(name):
    assert worlds.signed_in("review").get(reverse(f"runs:{name}", args=["RN-26-009999-9"])).status_code == 404


def test_an_assessment_stays_when_it_is_judged_again():
    desks.a_recipe()
    run = desks.a_cure([worlds.HERE])
    assert press(worlds.signed_in("engineer"), "run_assess", run.code, recipe=desks.RECIPE).status_code == 302
    assert Assessment.objects.filter(run=run).count() == 2
