"""Rows of people; each function takes the open act."""

from __future__ import annotations

from collections.abc import Iterable

from django.contrib.auth.hashers import make_password

from records.ledger.acts import Act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from .models import Person, PersonRole
from .rights import Role


def write_person(a: Act, badge: str, name: str, roles: Iterable[str], password: str = "", pin: str = "") -> Person:
    """A person with badge, name and roles. The badge must be free."""
    badge = badge.strip()
    if not badge or Person.objects.filter(badge__iexact=badge).exists():
        raise Refused("code-taken", "Badge %(badge)s is taken or empty. Use another one.", badge=badge)
    wrong = set(roles) - set(Role.values)
    if wrong:
        raise Refused("unknown", "%(role)s is no role here.", role=sorted(wrong)[0])
    person = Person(badge=badge, name_words=keep_words(name), pin=make_password(pin) if pin else "")
    # A person without a password signs on the floor only.
    person.set_password(password or None)
    person.save()
    a.write_all(PersonRole(person=person, role=role) for role in roles)
    return person
