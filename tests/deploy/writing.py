"""A works in which people are added without end, by a program of its own: prints a line each ten, ends with its input.

Started as ``python -m tests.deploy.writing``.
"""

import os
import select
import sys
from uuid import uuid4

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "plant.settings")
django.setup()

from plant.catalogue.actions import open_works  # noqa: E402
from plant.catalogue.opening_file import opening_of  # noqa: E402
from plant.people.actions import add_person  # noqa: E402
from plant.people.models import Person  # noqa: E402
from records.ledger.acts import Said  # noqa: E402
from records.ledger.clock import clock  # noqa: E402
from records.ledger.sealing import seal_all  # noqa: E402

OPENING = {"name": "Tarnside Works", "zone": "Europe/London", "people": [{"badge": "nell", "roles": ["manager"]}]}


def said(by: Person) -> Said:
    return Said(by, uuid4(), clock.now())


open_works(opening_of(OPENING), said(Person.objects.set_up()))
nell, number = Person.objects.get(badge="nell"), 0
while not select.select([sys.stdin], [], [], 0)[0]:
    number += 1
    add_person(f"p{number}", name=f"Person {number}", roles=["operator"], said=said(nell))
    if number % 10 == 0:
        seal_all()
        print(number, flush=True)
