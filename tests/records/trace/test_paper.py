"""The lot-to-frames list on paper, read back from the file."""

import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.items.actions import place_hold
from records.ledger.marks import Mark
from records.ledger.models import Entry
from records.ledger.position import mark_of_now
from records.trace import paper
from records.trace.management.commands.lottoframes import Command
from records.trace.paper import FrameList, frame_list_of, frame_list_pdf
from tests import worlds
from tests.papers import pages_of, symbols_on, words_of
from tests.test_query_counts import splits

pytestmark = [pytest.mark.usefixtures("straight_week"), pytest.mark.django_db]


def told_of(code: str = worlds.RESIN, mark: Mark | None = None) -> FrameList:
    return frame_list_of(code, mark or mark_of_now())


def test_a_list_begins_with_the_finding_and_names_every_frame_with_its_way(clock_at):
    clock_at(worlds.AFTER)
    place_hold(worlds.RESIN, reason="recall", said=worlds.by())
    made = frame_list_pdf(told_of())
    pages, words = pages_of(made.content), words_of(made.content)
    assert pages[0].index(f"2 frames have {worlds.RESIN}.") < pages[0].index("Frames: 2")
    assert symbols_on(made.content) == [worlds.RESIN]
    for said in (worlds.SHIPPED, worlds.HERE, "Has it", f"{worlds.RESIN} is held", "not thereby proved safe"):
        assert said in words
    assert f"As known up to entry {Entry.objects.latest('pk').pk}" in pages[-1]
    assert f"End of the list of {worlds.RESIN}." in words


def test_many_frames_stand_together_first_and_then_one_by_one(monkeypatch):
    monkeypatch.setattr(paper, "MOST_ROWS", 1)
    told = told_of()
    pages, words = pages_of(frame_list_pdf(told).content), words_of(frame_list_pdf(told).content)
    assert "Can’t rule out" in words
    for found in told.lists.frames:
        assert found.code in words
        assert found.way[1] in pages[0]


def test_a_list_names_what_the_story_says_holds_the_lot():
    story = [json.loads(line) for line in (worlds.STORIES / "1-straight-week.jsonl").read_text().splitlines()]
    (asked,) = [row for row in story if row.get("ask") == "q17"]
    told = told_of(asked["of"])
    words = words_of(frame_list_pdf(told).content)
    assert {found.code for found in told.answer.listed} == {item["code"] for item in asked["answer"]["items"]}
    assert [item["code"] for item in asked["answer"]["items"] if item["code"] not in words] == []


def test_a_list_is_the_same_file_for_the_same_records_and_knows_what_was_known(clock_at):
    clock_at(worlds.AFTER)
    before, mark = frame_list_pdf(told_of()).content, mark_of_now()
    place_hold(worlds.HERE, reason="doubt", said=worlds.by())
    assert frame_list_pdf(told_of()).content != before
    assert frame_list_pdf(told_of(mark=mark)).content == before
    early = words_of(
        frame_list_pdf(told_of(mark=Mark(Entry.objects.filter(kind="lot accepted").latest("pk").pk))).content
    )
    assert f"No frame on file holds {worlds.RESIN}." in early
    assert "Frames: 0" in early


def test_a_list_costs_the_same_queries_for_3_rows_more_and_for_30():
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            told_of("FL-0871")
        return len(queries)

    splits(3)
    few = cost()
    splits(27)
    assert cost() == few


def test_a_list_is_taken_away_from_its_page_as_known_on_the_day_asked_for(clock_at):
    clock_at(worlds.AFTER)
    client = worlds.signed_in("auditor")
    where = reverse("trace:frame_list", args=[worlds.RESIN])
    page = client.get(reverse("trace:lot_to_frames", args=[worlds.RESIN]), {"as_of": "2026-03-02T12:00"})
    assert f'href="{where}?as_of=2026-03-02T12%3A00"' in page.content.decode()
    response = client.get(where, {"as_of": "2026-03-02T12:00"})
    assert f'filename="lot-to-frames-{worlds.RESIN}.pdf"' in response["Content-Disposition"]
    assert "Frames: 0" in words_of(response.content)
    told = client.get(where, {"as_of": "2026-02-28T12:00"}, follow=True)
    assert "was not on file then" in told.content.decode()


def test_the_command_writes_the_list(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("records.ledger.commands.connections.close_all", lambda: None)
    file = tmp_path / "list.pdf"
    Command().run_from_argv(["manage.py", "lottoframes", worlds.RESIN, "--out", str(file), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert (told["command"], told["of"]) == ("lottoframes", worlds.RESIN)
    assert len(pages_of(file.read_bytes())) == told["pages"]
