"""Questions about people and the works."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from records.ledger.refusals import Refused

from .models import BadgeChange, Person, PersonRole, Qualification, Works
from .rights import Role


def person_by_badge(badge: str) -> Person:
    """Person by badge. Refuses ``unknown``."""
    person = Person.objects.filter(badge__iexact=badge.strip(), login=True).first()
    if person is None:
        raise Refused("unknown", "No badge %(badge)s here. Scan it again.", badge=badge.strip())
    return person


def works_zone() -> ZoneInfo:
    """Zone that the works' clocks show; UTC before a works is opened."""
    works = Works.current()
    return ZoneInfo(works.zone if works else "UTC")


def works_day(moment: datetime) -> date:
    """Day of a moment by the works' calendar."""
    return moment.astimezone(works_zone()).date()


def not_own_secrets(person: Person) -> set[str]:
    """Which of PIN and password somebody else set last, and so knows."""
    secrets = (BadgeChange.What.PIN, BadgeChange.What.PASSWORD)
    told = BadgeChange.objects.filter(person=person, what__in=secrets).order_by("entry_id")
    return {what for what, by in dict(told.values_list("what", "entry__by")).items() if by != person.pk}


def is_qualified(person: Person, what: str, day: date) -> bool:
    """Whether a person may do an operation, or use a kind of gauge, on a day."""
    standing = Qualification.objects.standing().filter(person=person, what=what, from_on__lte=day)
    return any(row.until_on is None or row.until_on >= day for row in standing)


def somebody_else_is(role: str, person: Person) -> bool:
    """Whether another person whose badge is open holds a role."""
    others = Person.objects.filter(login=True, is_active=True, role_facts__role=role).exclude(pk=person.pk).distinct()
    return any(role in other.roles for other in others)


def people_with(*roles: str) -> dict[str, list[Person]]:
    """Whose badge is open, by each of some roles that they hold, in the order of badges; one query."""
    facts = PersonRole.objects.filter(role__in=roles, person__login=True, person__is_active=True)
    held: dict[tuple[str, Person], bool] = {}
    for fact in facts.select_related("person__name_words").order_by("entry_id", "pk"):
        held[fact.role, fact.person] = fact.given
    holding = sorted((key for key, given in held.items() if given), key=lambda key: key[1].badge)
    return {role: [person for of, person in holding if of == role] for role in roles}


@dataclass(frozen=True)
class PersonHere:
    """A person who may sign, the roles held, and what they are qualified for."""

    person: Person
    roles: tuple[str, ...]
    qualified: tuple[Qualification, ...]

    @property
    def stands(self) -> str:
        """Whether the badge is open or closed."""
        return "open" if self.person.is_active else "closed"


def people_here() -> list[PersonHere]:
    """Everybody who may sign, by badge; three queries whatever their number."""
    held: dict[int, dict[str, bool]] = {}
    for person, role, given in PersonRole.objects.order_by("entry_id", "pk").values_list("person_id", "role", "given"):
        held.setdefault(person, {})[role] = given
    qualified: dict[int, list[Qualification]] = {}
    for row in Qualification.objects.standing().order_by("what", "pk"):
        qualified.setdefault(row.person_id, []).append(row)
    words = dict(Role.choices)
    people = Person.objects.filter(login=True).select_related("name_words").order_by("badge")
    return [
        PersonHere(
            person,
            tuple(str(words[role]) for role, given in sorted(held.get(person.pk, {}).items()) if given),
            tuple(qualified.get(person.pk, ())),
        )
        for person in people
    ]
