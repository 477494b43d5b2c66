"""The three patterns of a table: fact, version of a line, state; and the field that keeps words apart.

A fact is written once and never changed. A version belongs to a line of facts of which the highest counts. A state
row is what a thing is like at present: it can be rebuilt from the facts and is the only kind of row that is locked.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.db.models.functions import Cast, Coalesce

from .refusals import Refused

if TYPE_CHECKING:
    from .marks import Mark


class WordsField(models.ForeignKey):
    """Free words that may name a person: kept in the one table that can be emptied; payloads carry the commitment."""

    def __init__(self, **kwargs: Any) -> None:
        for fixed, value in {"to": "ledger.PrivateWords", "on_delete": models.PROTECT, "related_name": "+"}.items():
            kwargs.setdefault(fixed, value)
        super().__init__(**kwargs)


class StepsField(models.BigIntegerField):
    """A whole number of steps (``plant.quantities``); the check keeps SQLite from storing a fraction."""


def whole(*columns: str, table: str) -> list[models.BaseConstraint]:
    """Checks that columns hold whole numbers: on SQLite a bigint column would keep 34.95 as it is."""
    return [
        models.CheckConstraint(
            name=f"{table}_{column}_whole",
            condition=Q(**{column: Cast(F(column), models.BigIntegerField())}) | Q(**{f"{column}__isnull": True}),
        )
        for column in columns
    ]


@cache
def _texts(model: type[models.Model]) -> tuple[tuple[str, str, int | None], ...]:
    """Columns of text: attribute, name for people, longest."""
    fields = (field for field in model._meta.concrete_fields if isinstance(field, models.CharField | models.TextField))
    return tuple((field.attname, str(field.verbose_name), field.max_length) for field in fields)


def refuse_what_does_not_fit(row: models.Model) -> None:
    """Refuse ``too-long`` and ``unreadable`` texts: SQLite would take them, PostgreSQL would end in a fault."""
    for attribute, name, longest in _texts(type(row)):
        value = getattr(row, attribute)
        if value and longest and len(value) > longest:
            words = "%(name)s has %(found)d signs; %(longest)d are kept. Write it shorter."
            raise Refused("too-long", words, name=name.capitalize(), found=len(value), longest=longest)
        if value and "\0" in value:
            raise Refused("unreadable", "%(name)s holds a sign that is none. Write it again.", name=name.capitalize())


class FactQuerySet(models.QuerySet):
    """Questions that every record table can answer."""

    def known(self, mark: Mark | None) -> Self:
        """Rows that were known at a mark; all of them without one."""
        return self if mark is None else self.filter(mark.known("entry_id"))

    def sole(self) -> Any:
        """The row, or none, where no more than one can be: without the order that ``first`` would ask for."""
        return next(iter(self[:1]), None)


class Fact(models.Model):
    """A record row: written once, in an act, under its ledger entry; never changed or deleted."""

    entry = models.ForeignKey("ledger.Entry", models.PROTECT, related_name="+")

    append_only = True

    objects = FactQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError(f"{type(self).__name__} is a record: write a newer version instead of changing it.")
        super().save(*args, **kwargs | {"force_insert": True})

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise TypeError(f"{type(self).__name__} is a record and is never deleted.")


class VersionQuerySet(FactQuerySet):
    """Questions to tables whose rows supersede each other."""

    def newest(self, mark: Mark | None = None) -> Self:
        """The row of each line that counts: the highest version known at the mark."""
        later = self.model._base_manager.filter(
            first_id=Coalesce(OuterRef("first_id"), OuterRef("pk")), version__gt=OuterRef("version")
        )
        if mark is not None:
            later = later.filter(mark.known("entry_id"))
        return self.known(mark).filter(~Exists(later))

    def standing(self, mark: Mark | None = None) -> Self:
        """Newest rows that were not withdrawn; ended ones included, they were true once."""
        return self.newest(mark).exclude(status=Version.Status.WITHDRAWN)


class Version(Fact):
    """A record row that a later one of the same line may supersede.

    The row that counts is the one with the highest version known; each repeats the whole content.
    """

    class Status(models.IntegerChoices):
        STANDS = 0, "stands"
        ENDED = 2, "ended"
        WITHDRAWN = 3, "withdrawn"

    first_id: int | None
    first = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="later")
    version = models.SmallIntegerField(default=1)
    status = models.SmallIntegerField(choices=Status, default=Status.STANDS)

    objects = VersionQuerySet.as_manager()  # type: ignore[misc]  # Django's managers are class variables in fact

    class Meta:
        abstract = True

    @property
    def line(self) -> int:
        """Number of the first row of the line."""
        return self.first_id or self.pk

    def next_version(self, **changes: Any) -> Self:
        """An unsaved row that supersedes this one, with the changes named."""
        content = {
            field.attname: getattr(self, field.attname)
            for field in self._meta.concrete_fields
            if field.attname not in ("id", "entry_id", "first_id", "version")
        }
        for name, value in changes.items():
            content[self._meta.get_field(name).attname] = getattr(value, "pk", value)  # type: ignore[union-attr]
        return type(self)(**content, first_id=self.line, version=self.version + 1)


def version_rules(table: str) -> list[models.BaseConstraint]:
    """The two constraints of every version table."""
    return [
        models.UniqueConstraint(fields=["first", "version"], name=f"{table}_version_once"),
        models.CheckConstraint(
            name=f"{table}_first_is_version_1",
            condition=Q(first__isnull=True, version=1) | Q(first__isnull=False, version__gt=1),
        ),
    ]


class State(models.Model):
    """What a thing is like at present: written only inside an act, rebuilt from the records by ``verify``."""

    entry = models.ForeignKey("ledger.Entry", models.PROTECT, related_name="+", null=True)

    class Meta:
        abstract = True

    @classmethod
    def from_records(cls) -> Iterable[dict[str, Any]]:
        """One dict a row, as the records give it: the key and every column but ``entry``."""
        raise NotImplementedError
