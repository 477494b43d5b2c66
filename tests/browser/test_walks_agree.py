"""The tablet without a link asks what the server asks: both walk the same tasks under answers drawn at random.

What differs here would be a question that is left out, or a field that goes up otherwise, only because the link was
gone. The tablet may know less of a thing than the server, never something else of what it took along.
"""

import random

import pytest
from playwright.sync_api import Page

from records.floor.asking import Question
from records.floor.snapshot import snapshot_for
from records.floor.tasks import TASKS, task_named
from records.floor.walking import walk_through
from records.steps.actions import withdraw_step
from records.steps.models import StepRecord
from tests import worlds
from tests.browser.test_tablet import enter

pytestmark = [pytest.mark.browser, pytest.mark.unhurried, pytest.mark.sqlite, pytest.mark.django_db(transaction=True)]

WALKS, LONGEST = 4, 40
STATION = "Bench"
SEED = 20261126
# How the tablet walks answers: the same modules that its screens use.
ON_THE_TABLET = """async cases => {
  const { rules, routeOf } = await import('/static/floor/rules.js');
  const { walk } = await import('/static/floor/walk.js');
  const { entryMade } = await import('/static/floor/payload.js');
  const known = await rules();
  const named = {
    step: told => {
      const unit = known.units.get(told.unit);
      const step = routeOf(known, unit).find(one => one.operation === told.operation);
      return { ...step, fixed: { ...step.fixed, unit: unit.code } };
    },
    make: told => known.snapshot.makes[told.part],
    hold: told => ({ ...known.snapshot.hold, fixed: { item: told.unit } }),
    measure: told => ({ ...known.snapshot.sheets[known.units.get(told.unit).part], fixed: { unit: told.unit } }),
  };
  return cases.map(([name, told, station]) => {
    const task = (named[name] ?? (() => known.snapshot.tasks[name]))(told);
    const { answered, question, problem } = walk(known, task, told);
    return {
      answered: answered.map(one => one.name),
      next: question?.name ?? '',
      asks: question?.asks ?? '',
      choices: (question?.choices ?? []).map(([code]) => code),
      unit: question?.unit ?? '',
      wrong: Boolean(problem),
      payload: question ? null : entryMade(known, task, told, station).payload,
    };
  });
}"""


def as_the_server(name: str, told: dict[str, str]) -> dict:
    task = task_named(name, told)
    answered, question, problem = walk_through(task, told)
    return {
        "answered": [one.name for one in answered],
        "next": question.name if question else "",
        "asks": question.asks if question else "",
        "choices": [choice.code for choice in question.choices] if question else [],
        "unit": question.unit if question else "",
        "wrong": problem is not None,
        "payload": None if question else task.tells(told, STATION),
    }


class Answers:
    """What somebody may answer, right and wrong, from what the tablet took along."""

    def __init__(self, taken: dict, rng: random.Random) -> None:
        self.rng = rng
        self.units = [unit["code"] for unit in taken["units"]]
        self.lots = [lot["code"] for lot in taken["lots"]]
        self.tools = [tool["code"] for tool in taken["tools"]]
        self.gauges = [gauge["code"] for gauge in taken["gauges"]]
        self.kinds = {one["code"]: one["kind"] for one in [*taken["units"], *taken["lots"], *taken["tools"]]}

    def to(self, question: Question) -> str:
        if question.choices:
            return self.rng.choice([choice.code for choice in question.choices if choice.code != "again"])
        if self.rng.random() < 0.1:
            return ""
        if question.is_number:
            return self.number(question)
        if question.kind in ("text", ""):
            return self.rng.choice(["something seen", "Ärger: 5 < 6 & “so”"])
        codes = {"unit": self.units, "lot": self.lots, "tool": self.tools, "free": ["NEW-77", *self.units[:1]]}
        any_codes = [*self.units, *self.lots, *self.tools, *self.gauges]
        near = codes.get(question.kind, self.gauges if question.kind in ("gauge", "scale") else any_codes)
        fitting = [code for code in near if not question.of or self.kinds.get(code) in question.of]
        drawn = fitting if fitting and self.rng.random() < 0.8 else any_codes
        return self.rng.choice(drawn).lower() if self.rng.random() < 0.2 else self.rng.choice(drawn)

    def number(self, question: Question) -> str:
        band = question.band
        limits = [text for text in (band.low, band.high, band.aimed) if text] if band else []
        near = [*limits, *(str(round(float(limit) * factor, 4)) for limit in limits for factor in (0.9, 1.1))]
        return self.rng.choice([*near, "0.5", "12", "no number", f"3 {question.unit}"])


def walks(taken: dict) -> list[tuple[str, dict[str, str], dict]]:
    """Walks through every task that a tablet knows: each step with the answers so far and what the server says."""
    rng = random.Random(SEED)
    answers = Answers(taken, rng)
    begun = [("make", {"part": part}) for part in taken["makes"]]
    begun += [(name, {}) for name in TASKS if not _needs_link(taken["tasks"][name])]
    for unit in taken["units"]:
        begun += [("hold", {"unit": unit["code"]})]
        begun += [("measure", {"unit": unit["code"]})] if unit["part"] in taken["sheets"] else []
        begun += [("step", {"unit": unit["code"], "operation": unit["next"]})] if unit["next"] else []
    return [step for name, told in begun for _ in range(WALKS) for step in _walk(name, told, answers)]


def _needs_link(task: dict) -> bool:
    return any(piece["piece"] == "with-link" for piece in task["pieces"])


def _walk(name: str, begun: dict[str, str], answers: Answers) -> list[tuple[str, dict[str, str], dict]]:
    told, steps = dict(begun), []
    for _ in range(LONGEST):
        asked = dict(told)
        said = as_the_server(name, asked)
        steps.append((name, dict(told), said))
        _, question, _ = walk_through(task_named(name, dict(told)), dict(told))
        if question is None:
            break
        told[question.name] = answers.to(question)
    return steps


def test_the_tablet_and_the_server_ask_the_same_and_make_the_same_entry(page: Page):
    worlds.a_straight_week()
    done = StepRecord.objects.get(unit__codes__code=worlds.HERE, operation__name="final")
    withdraw_step(done.entry.key, words="logged for another frame", said=worlds.by("marta"))
    page.set_default_timeout(20_000)
    enter(page, "operator")
    taken = snapshot_for(worlds.by().by, "")
    steps = walks(taken)
    on_tablet = page.evaluate(ON_THE_TABLET, [[name, told, STATION] for name, told, _ in steps])
    differing = [
        (name, told, {key: (said[key], other[key]) for key in said if said[key] != other[key]})
        for (name, told, said), other in zip(steps, on_tablet, strict=True)
        if said != other
    ]
    assert len(steps) > 300
    assert {name for name, _, said in steps if said["payload"] is not None} >= {"make", "hold", "measure"}
    assert differing == [], f"{len(differing)} of {len(steps)} steps, the first: {differing[0]}"
