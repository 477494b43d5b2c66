"""A works with records to look at: a short story told through the actions, a person of each role, matters that wait."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID, uuid4

from django.test import Client

from plant.people.actions import add_person
from plant.people.models import Person, Works
from plant.people.rights import Role
from records.items.actions import place_hold
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.models import Unplaced
from records.quality.actions import decide_departure, note_departure, swap_labels
from records.scenario.story.running import read_story, run_story
from tests import shelf

STORIES = Path(__file__).parent / "data" / "stories"
RESIN, SHIPPED, HERE = "RB-1142", "TW-26-004201", "TW-26-004202"
PASSWORD = "a long enough one"
AFTER = datetime.fromisoformat("2026-03-09T08:00:00+01:00")


def by(badge: str = "quill") -> Said:
    """Somebody says it, after the story, under a key of its own."""
    return Said(Person.objects.get(badge=badge), uuid4(), AFTER)


def a_straight_week() -> None:
    """One week of the works, and a person for each role whose badge is the role; told once where it stands already."""
    if not Works.objects.exists():
        _tell_the_week()


@shelf.kept
def _tell_the_week() -> None:
    path = STORIES / "1-straight-week.jsonl"
    run_story(read_story(path.read_bytes(), path.name))
    with clock.at(AFTER):
        for role in Role.values:
            add_person(role, name=f"The {role}", roles=[role], password=PASSWORD, said=by())


@dataclass(frozen=True)
class Waiting:
    """What waits in Review."""

    hold: int
    departure: str
    decided: str
    swap: UUID
    unplaced: UUID


@shelf.kept
def matters_waiting() -> Waiting:
    """A hold, a departure, a decision to countersign, a swap and an entry that could not be placed."""
    with clock.at(AFTER):
        hold = place_hold(HERE, reason="doubt", words="label hard to read", said=by())
        departure = note_departure(HERE, defect="surface", words="scratch on the seat tube", said=by("marta"))
        decided = note_departure(HERE, defect="dimension", words="shell narrow", said=by("marta"))
        decide_departure(decided.code, choice="as-is", words="bearing fits", said=by())
        swap = swap_labels("TB-0003", "TB-0004", since=AFTER, words="laid side by side", said=by("jonas"))
    return Waiting(hold.pk, departure.code, decided.code, swap.entry.key, Unplaced.objects.earliest("pk").entry.key)


def signed_in(badge: str) -> Client:
    """A browser in which somebody is signed in."""
    client = Client()
    client.force_login(Person.objects.get(badge=badge), backend="django.contrib.auth.backends.ModelBackend")
    return client


def another_window(client: Client) -> Client:
    """The same person's browser, as it stood when this person had signed in."""
    window = Client()
    window.cookies.update(client.cookies)
    return window


def press(client: Client, address: str, **fields: object) -> object:
    """Send a form that acts, as it was drawn at this moment, signed by password where it asks for one."""
    drawn = {"key": str(uuid4()), "drawn_at": clock.now().isoformat(), "password": PASSWORD}
    return client.post(address, {**drawn, **fields})
