"""Entries as a tablet sends them."""

import json
from uuid import uuid4

from django.test import Client

from plant.people.models import Person
from tests import builders

ADDRESS = "/floor/entries/"


def tablet(role: str = builders.ALL_ROLES) -> Client:
    """A tablet at which somebody is signed in."""
    client = Client()
    client.force_login(Person.objects.get(badge=role), backend="django.contrib.auth.backends.ModelBackend")
    return client


def entry(kind: str, *, hours: float = 1, key: str = "", done: bool = False, **payload: object) -> dict:
    """One entry, made so many hours after Monday at eight."""
    return {
        "key": key or str(uuid4()),
        "kind": kind,
        "made_at": builders.moment(hours).isoformat(),
        "offset_ms": 0,
        "device": "TB-1",
        "done": done,
        "payload": payload,
    }


def send(client: Client, *entries: object) -> list[dict]:
    """Send a batch; the answers in the order sent."""
    response = client.post(ADDRESS, json.dumps({"entries": entries}), content_type="application/json")
    assert response.status_code == 200, response.content
    return response.json()["answers"]


def lot(code: str, amount: str = "10 g", **more: str) -> dict:
    """A lot that goes in."""
    return {"lot": code, "amount": amount, **more}
