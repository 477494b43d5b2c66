"""The walk through a task's questions: what is answered, what comes next, and whether it is the last."""

from __future__ import annotations

from records.ledger.refusals import Refused

from .asking import Question, problem_with
from .tasks import Task


def walk_through(task: Task, told: dict[str, str]) -> tuple[list[Question], Question | None, Refused | None]:
    """Questions answered so far, the next one, and what is wrong with its answer."""
    answered: list[Question] = []
    for question in task.asks(told):
        name = question.name
        if name not in told and question.leaves and told.get(f"{name}-own") != "yes":
            continue
        if name not in told or (told[name] == "again" and question.offers("again")):
            return answered, question, None
        told[name] = question.bare(told[name])
        problem = problem_with(question, told)
        if problem is not None:
            return answered, question, problem
        answered.append(question)
        if question.wait_min and told[name] == "wait":
            break  # nothing more is done now
    return answered, None, None


def is_last(task: Task, told: dict[str, str], question: Question) -> bool:
    """Whether the press that answers a question may log: nothing is asked after the answer that most give."""
    if question.logs or not (question.is_typed or question.ends):
        return question.logs
    _, following, _ = walk_through(task, {**told, question.name: question.likely})
    return following is None


def left_out(task: Task, told: dict[str, str]) -> tuple[str, str] | None:
    """Name and word of the key that asks what is not asked unless somebody wants to tell it."""
    left = next((one for one in task.asks(told) if one.leaves and told.get(f"{one.name}-own") != "yes"), None)
    return (f"{left.name}-own", left.own) if left else None
