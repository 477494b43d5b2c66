"""What can happen to people: added, given other roles, found qualified, PIN or language set, a badge closed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import pairwise

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from plant.speaking import languages
from records.ledger.acts import Act, Free, Said, act
from records.ledger.refusals import Conflict, Refused

from .deputies import DECISIONS
from .models import BadgeChange, Deputy, Device, Person, PersonKey, PersonRole, Qualification
from .queries import somebody_else_is
from .rights import Role
from .tablets import read_key
from .writing import write_person

SHORTEST_PIN, LONGEST_PIN = 4, 8


def add_person(badge: str, *, name: str, roles: Iterable[str], password: str = "", said: Said) -> Person:
    """Add a person who may sign.

    Refuses ``code-taken`` for a badge in use, ``unknown`` for a role and ``weak`` for a password easily guessed.
    """
    roles = sorted(roles)
    if password:
        refuse_weak_password(password)
    with act("person added", said, badge=Free(badge.strip()), roles=roles) as a:
        if a.made:
            return PersonRole.objects.filter(entry=a.entry).select_related("person")[0].person
        if not roles:
            raise Refused("unknown", "Give at least one role.")
        return write_person(a, badge, name, roles, password)


def change_roles(person: Person, *, roles: Iterable[str], said: Said) -> Person:
    """Give and take roles so that the person holds exactly these.

    Refuses ``unknown``, ``nothing-changed``, and ``last-manager`` where nobody could give roles any more.
    """
    wanted = set(roles)
    with act("roles changed", said, person=person.pk, roles=sorted(wanted)) as a:
        if a.made:
            return person
        if wanted - set(Role.values):
            raise Refused("unknown", "%(role)s is no role here.", role=sorted(wanted - set(Role.values))[0])
        held = Person.objects.get(pk=person.pk).roles
        if wanted == held:
            raise Refused("nothing-changed", "The person has these roles already.")
        if Role.MANAGER in held - wanted:
            _refuse_last_manager(person)
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


def set_password(person: Person, password: str, *, said: Said) -> BadgeChange:
    """Set a person's password; everybody sets their own, the manager that of who forgot it.

    The password is no part of what the entry says: a repeat changes nothing. Refuses ``weak`` and ``not-allowed``.
    """
    refuse_weak_password(password, person)
    hashed = make_password(password)
    with act("password set", said, person=person.pk) as a:
        return _change_badge(a, person, BadgeChange.What.PASSWORD, password=hashed)


def set_pin(person: Person, pin: str, *, said: Said) -> BadgeChange:
    """Set a person's PIN, which counts on the works' own tablets only. Refuses ``weak`` and ``not-allowed``."""
    pin = pin.strip()
    if not (pin.isascii() and pin.isdigit() and SHORTEST_PIN <= len(pin) <= LONGEST_PIN):
        raise Refused("weak", "A PIN has %(least)d to %(most)d digits.", least=SHORTEST_PIN, most=LONGEST_PIN)
    if len({(int(b) - int(a)) % 10 for a, b in pairwise(pin)}) == 1:
        raise Refused("weak", "This PIN is guessed at once: its digits repeat or count. Take another.")
    hashed = make_password(pin)
    with act("pin set", said, person=person.pk) as a:
        return _change_badge(a, person, BadgeChange.What.PIN, pin=hashed)


def set_language(person: Person, language: str, *, said: Said) -> BadgeChange:
    """Set the language in which the floor speaks to a person. Refuses ``unknown`` and ``not-allowed``."""
    if language not in dict(languages()):
        raise Refused("unknown", "%(language)s is no language that the floor speaks.", language=language)
    with act("language set", said, person=person.pk, language=language) as a:
        return _change_badge(a, person, BadgeChange.What.LANGUAGE, language=language)


def close_badge(person: Person, *, said: Said) -> BadgeChange:
    """Close the badge of a person who left: no sign-in and no act any more; what they signed stays.

    Refuses ``nothing-changed`` and ``last-manager``.
    """
    with act("badge closed", said, person=person.pk) as a:
        if not a.made and Role.MANAGER in person.roles:
            _refuse_last_manager(person)
        return _change_badge(a, person, BadgeChange.What.CLOSED, is_active=False)


def open_badge(person: Person, *, said: Said) -> BadgeChange:
    """Open a closed badge again. Refuses ``nothing-changed``."""
    with act("badge opened", said, person=person.pk) as a:
        return _change_badge(a, person, BadgeChange.What.OPENED, is_active=True)


def make_key(device: Device, public_key: str, *, said: Said) -> PersonKey:
    """Take the public half of the key that a person made on a tablet. Refuses ``malformed`` and ``code-taken``."""
    read_key(public_key)
    with act("key made", said, device=device.pk, public_key=public_key) as a:
        if a.made:
            return PersonKey.objects.get(entry=a.entry)
        key = PersonKey(person=said.by, device=device, public_key=public_key)
        return a.write_only(key, Conflict("code-taken", "This key is on file already. Make another one."))


def name_deputy(
    decision: str, *, holder: Person, deputy: Person, from_on: date, until_on: date | None = None, said: Said
) -> Deputy:
    """Name who decides, and who does when that person is away. A newer word on the same decision takes its place.

    Refuses ``unknown`` for a decision, ``itself``, ``days-upside-down``, and ``not-allowed`` for whoever may not do it.
    """
    stated = {"decision": decision, "holder": holder.pk, "deputy": deputy.pk, "from_on": from_on, "until_on": until_on}
    with act("deputy named", said, **stated) as a:
        if a.made:
            return Deputy.objects.get(entry=a.entry)
        if decision not in DECISIONS:
            raise Refused("unknown", "Choose the decision from the list.")
        if holder == deputy:
            raise Refused("itself", "Name another person: nobody stands in for themselves.")
        if until_on and until_on < from_on:
            raise Refused("days-upside-down", "The last day lies before the first.")
        for person in (holder, deputy):
            if not person.may(decision):
                raise Refused("not-allowed", "%(name)s may not decide this: give the role first.", name=person.name)
        last = Deputy.objects.newest().filter(decision=decision).first()
        content = {"holder": holder, "deputy": deputy, "from_on": from_on, "until_on": until_on}
        return a.write(last.next_version(**content) if last else Deputy(decision=decision, **content))


def refuse_weak_password(password: str, person: Person | None = None) -> None:
    """Refuse a password that is short or among the common ones."""
    try:
        validate_password(password, person)
    except ValidationError as weak:
        raise Refused("weak", " ".join(weak.messages).replace("%", "%%")) from weak


def _change_badge(a: Act, person: Person, what: BadgeChange.What, /, **columns: str | bool) -> BadgeChange:
    if a.made:
        return BadgeChange.objects.get(entry=a.entry)
    if person != a.said.by and Role.MANAGER not in a.said.by.roles:
        raise Refused("not-allowed", "You set your own. Another person's is set by the manager.")
    here = Person.objects.select_for_update().get(pk=person.pk)
    if "is_active" in columns and here.is_active is columns["is_active"]:
        raise Refused("nothing-changed", "This badge is %(what)s already.", what=what.label.lower())
    for column, value in columns.items():
        setattr(here, column, value)
    here.save(update_fields=list(columns))
    return a.write(BadgeChange(person=here, what=what))


def _refuse_last_manager(person: Person) -> None:
    # Of two managers who take the role from each other at one moment, the second one waits here.
    managers = PersonRole.objects.filter(role=Role.MANAGER).values("person")
    list(Person.objects.select_for_update().filter(pk__in=managers).order_by("pk"))
    if not somebody_else_is(Role.MANAGER, person):
        raise Refused("last-manager", "Make another person manager first: else nobody could give roles any more.")
