"""What can happen to people: added, given other roles, found qualified."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused

from .models import Person, PersonRole, Qualification
from .rights import Role
from .writing import write_person


def add_person(badge: str, *, name: str, roles: Iterable[str], password: str = "", said: Said) -> Person:
    """Add a person who may sign. Refuses ``code-taken`` for a badge in use and ``unknown`` for a role."""
    roles = sorted(roles)
    with act("person added", said, badge=Free(badge.strip()), roles=roles) as a:
        if a.made:
            return PersonRole.objects.filter(entry=a.entry).select_related("person")[0].person
        if not roles:
            raise Refused("unknown", "Give at least one role.")
        return write_person(a, badge, name, roles, password)


def change_roles(person: Person, *, roles: Iterable[str], said: Said) -> Person:
    """Give and take roles so that the person holds exactly these. Refuses ``unknown`` and ``nothing-changed``."""
    wanted = set(roles)
    with act("roles changed", said, person=person.pk, roles=sorted(wanted)) as a:
        if a.made:
            return person
        if wanted - set(Role.values):
            raise Refused("unknown", "%(role)s is no role here.", role=sorted(wanted - set(Role.values))[0])
        held = Person.objects.get(pk=person.pk).roles
        if wanted == held:
            raise Refused("nothing-changed", "The person has these roles already.")
        changes = [(role, True) for role in sorted(wanted - held)] + [(role, False) for role in sorted(held - wanted)]
        a.write_all(PersonRole(person=person, role=role, given=given) for role, given in changes)
        return Person.objects.get(pk=person.pk)


def give_qualification(
    person: Person, *, what: str, from_on: date, until_on: date | None = None, said: Said
) -> Qualification:
    """Note that a person is qualified for an operation or a kind of gauge. Refuses ``days-upside-down``."""
    with act("qualification given", said, person=person.pk, what=what, from_on=from_on, until_on=until_on) as a:
        if a.made:
            return Qualification.objects.get(entry=a.entry)
        if until_on and until_on < from_on:
            raise Refused("days-upside-down", "The last day lies before the first.")
        return a.write(Qualification(person=person, what=what, from_on=from_on, until_on=until_on))
