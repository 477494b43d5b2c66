"""A book with rows in every record table, made by their columns: for checks that must hold whatever a table says.

Rooms have actions for this; what they write depends on their rules, and no rule of theirs matters here.
"""

import hashlib
from collections import defaultdict
from datetime import date
from itertools import count
from uuid import uuid4

from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from django.apps import apps
from django.db import models

from plant.codes import house_code
from plant.people.models import Person
from records.items.models import HouseCodeField
from records.ledger.acts import Act, act
from records.ledger.models import Entry, Photo, Signature
from records.ledger.patterns import Fact, WordsField
from records.ledger.verifying.states import state_models
from records.ledger.words import keep_words
from tests.photos import a_photo
from tests.records.ledger.book import MORNING, said

# What the rules of a table ask for beyond its columns.
ASKED = {
    "TankEntry": {"kind": 1},
    "Item": {"kind": "U"},
    "Link": {"feed": None},
    "FeedUse": {"began_at": MORNING.replace(hour=6)},
    "Works": {"zone": "Europe/Rome"},
    "LabelPrint": {"thing": ""},
}
# Words that were erased in truth are needed for this one.
OWN = {"WordsErased"}
LEFT = {"id", "entry", "first", "version", "status"}


def record_tables() -> list[type[Fact]]:
    """Models of record rows, those that others point to first."""
    models_left = [m for m in apps.get_models() if issubclass(m, Fact) and m.__name__ not in OWN]
    ordered: list[type[Fact]] = []
    while models_left:
        ready = [m for m in models_left if not needs(m) & (set(models_left) - {m})]
        ordered += ready
        models_left = [m for m in models_left if m not in ready]
    return ordered


def needs(model: type[models.Model]) -> set[type[models.Model]]:
    return {f.related_model for f in model._meta.concrete_fields if f.is_relation}


def fill() -> None:
    """Two rows in every record table, a few tables an act, and the state tables as the records give them."""
    Filler().fill()


def a_signature(text: str) -> dict[str, bytes]:
    """Key and signature as a tablet makes them."""
    key = ec.generate_private_key(ec.SECP256R1())
    r, s = decode_dss_signature(key.sign(text.encode(), ec.ECDSA(hashes.SHA256())))
    form = (serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
    return {"public_key": key.public_key().public_bytes(*form), "signature": r.to_bytes(32) + s.to_bytes(32)}


class Filler:
    """Makes rows whose every column holds something, each text another one."""

    def __init__(self) -> None:
        self.numbers = count(1)
        self.made: dict[type[models.Model], list[models.Model]] = defaultdict(list)

    def fill(self) -> None:
        """What ``fill`` says."""
        tables = record_tables()
        for start in range(0, len(tables), 4):
            for turn in range(2):  # of some tables an entry has one row at most
                with act("works opened", said(), start=start, turn=turn) as a:
                    for model in tables[start : start + 4]:
                        self.write(a, model)
        for state in state_models():
            for row in state.from_records():
                state(**row).save(force_insert=True)

    def write(self, a: Act, model: type[Fact]) -> None:
        self.made[model].append(a.write(self.row(model)))

    def row(self, model: type[Fact], **given: object) -> Fact:
        """A row that is not written yet."""
        turn, ends = len(self.made[model]), count()
        content = {}
        for field in model._meta.concrete_fields:
            if field.name in LEFT:
                continue
            if field.is_relation and not isinstance(field, WordsField):
                content[field.name] = self.related(field, turn + (0 if field.unique else next(ends)))
            else:
                content[field.name] = self.value(field)
        if model is Signature:
            content |= a_signature(content["text"].text)
        if model is Photo:
            content["sha256"] = a_photo(("red", "blue", "green")[turn % 3])
        return model(**content | ASKED.get(model.__name__, {}) | given)

    def entry(self) -> Entry:
        """An entry that is not written yet and has no rows."""
        moments = dict.fromkeys(("made_at", "happened_at", "taken_at"), MORNING)
        return Entry(key=uuid4(), kind="measured", by=said().by, device="tab-03", asked=bytes(32), **moments)

    def related(self, field: models.ForeignKey, turn: int) -> models.Model | None:
        """A row to point to: row n to row n where only one may, else one further for each column."""
        if field.related_model is Person:
            return Person.objects.create(badge=f"badge {next(self.numbers)}")
        rows = list(Entry.objects.order_by("pk")) if field.related_model is Entry else self.made[field.related_model]
        return rows[turn % len(rows)] if rows else None

    def value(self, field: models.Field) -> object:
        n = next(self.numbers)
        if isinstance(field, WordsField):
            return keep_words(f"words {n}")
        if field.choices:
            return field.choices[0][0]
        match field:
            case HouseCodeField():
                return house_code("RN", 2026, n)
            case models.DateTimeField():
                return MORNING.replace(microsecond=n)
            case models.DateField():
                return date(2026, 3, 2)
            case models.UUIDField():
                return uuid4()
            case models.BinaryField():
                return hashlib.sha256(str(n).encode()).digest()
            case models.BooleanField():
                return True
            case models.IntegerField():
                return n
        return f"{n} {field.attname}"[: field.max_length]
