"""The book: entries and their payloads, the sealed tree over them, flags, and what could not be placed."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from django.conf import settings
from django.db import models

from .patterns import Fact, WordsField


class Entry(models.Model):
    """One act: who, when by the maker's clock, when taken, under which key."""

    key = models.UUIDField()
    kind = models.CharField(max_length=40)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    device = models.CharField(max_length=40, blank=True, default="")
    made_at = models.DateTimeField()
    offset_ms = models.IntegerField(default=0)
    happened_at = models.DateTimeField()
    taken_at = models.DateTimeField(db_index=True)
    asked = models.BinaryField(max_length=32)

    append_only = True
    works = ""  # code of the works while the entry is being made; the payload keeps it
    told: Mapping[str, Any] = MappingProxyType({})  # what the maker's device sent besides; the payload keeps it

    class Meta:
        verbose_name_plural = "entries"
        constraints = [models.UniqueConstraint(fields=["key"], name="entry_key_once")]

    def __str__(self) -> str:
        return f"{self.pk} {self.kind}"


class EntryBody(models.Model):
    """The payload of an entry, as the bytes that were hashed."""

    entry = models.OneToOneField(Entry, models.PROTECT, primary_key=True, related_name="body")
    payload = models.TextField()
    leaf_hash = models.BinaryField(max_length=32)

    append_only = True

    class Meta:
        verbose_name_plural = "entry bodies"


class Leaf(models.Model):
    """Place of an entry in the sealed tree: dense from 0, in the order of sealing."""

    index = models.BigIntegerField(primary_key=True)
    entry = models.OneToOneField(Entry, models.PROTECT, related_name="leaf")

    append_only = True

    class Meta:
        verbose_name_plural = "leaves"


class Node(models.Model):
    """Root of a whole subtree of 256, 65,536 or 16,777,216 leaves."""

    level = models.SmallIntegerField()
    index = models.BigIntegerField()
    hash = models.BinaryField(max_length=32)

    append_only = True

    class Meta:
        constraints = [models.UniqueConstraint(fields=["level", "index"], name="node_once")]


class TreeHead(models.Model):
    """Signed root of the tree of a size; it names the size of the head before it, so that none can be taken out.

    Where the server's clock was put back, the times between ``back_from`` and ``back_to`` were lived through twice.
    """

    size = models.BigIntegerField(primary_key=True)
    before = models.BigIntegerField()
    root = models.BinaryField(max_length=32)
    upto = models.BigIntegerField()
    back_from = models.DateTimeField(null=True)
    back_to = models.DateTimeField(null=True)
    signed_at = models.DateTimeField()
    key_id = models.CharField(max_length=40)
    signature = models.BinaryField(max_length=64)

    append_only = True

    class Meta:
        indexes = [
            models.Index(
                fields=["back_from"], condition=models.Q(back_from__isnull=False), name="tree_head_turned_back"
            )
        ]


class SigningKey(models.Model):
    """The public key of heads over more than ``size`` leaves, up to the size of the next key.

    A key and the one before it sign each other: whoever trusts either can follow to the other.
    """

    number = models.SmallIntegerField(primary_key=True)
    key = models.BinaryField(max_length=32)
    size = models.BigIntegerField()
    taken_at = models.DateTimeField()
    signature = models.BinaryField(max_length=64)
    signature_before = models.BinaryField(max_length=64, null=True)  # none of the first, nor where that key was lost

    append_only = True

    class Meta:
        constraints = [models.UniqueConstraint(fields=["key"], name="signing_key_once")]


class Flag(Fact):
    """A rule that something done has broken; raised in the act that tells of it."""

    code = models.CharField(max_length=40, db_index=True)
    facts = models.TextField(default="{}")


class Signature(Fact):
    """What a person's own key signed of an entry, on the device where it was made: the text as it was sent.

    The text may hold free words, so it is kept with them and can be erased; a salt of the device stands in it, so that
    the signature that stays tells nothing of what was erased.
    """

    public_key = models.BinaryField(max_length=65)  # the point on P-256, uncompressed
    signature = models.BinaryField(max_length=64)  # r and s (IEEE P1363), by ECDSA with SHA-256
    is_second = models.BooleanField(default=False)
    text = WordsField()


class Photo(Fact):
    """A picture that an entry carries; the file lies below VAR_DIR under the hash of its bytes."""

    sha256 = models.CharField(max_length=64, db_index=True)
    kind = models.CharField(max_length=40)
    bytes = models.IntegerField()
    width = models.IntegerField()
    height = models.IntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "sha256"], name="photo_of_entry_once")]


class FromPaper(Fact):
    """An entry that was typed in from a numbered sheet of paper: which line of it, and who wrote that."""

    sheet = models.CharField(max_length=40, db_index=True)
    line = models.SmallIntegerField()
    maker = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "from paper"
        constraints = [models.UniqueConstraint(fields=["entry"], name="entry_from_one_line")]


class Unplaced(Fact):
    """An entry that could not be placed, kept as it was sent until somebody settles it."""

    said_key = models.UUIDField(db_index=True)
    said_kind = models.CharField(max_length=40)
    said_by = models.BigIntegerField()
    said_at = models.DateTimeField()
    code = models.CharField(max_length=40)
    raw = models.TextField()
    fingerprint = models.BinaryField(max_length=32)

    class Meta:
        verbose_name_plural = "unplaced"
        constraints = [models.UniqueConstraint(fields=["said_key", "fingerprint"], name="unplaced_once")]


class UnplacedSettled(Fact):
    """What became of an unplaced entry: placed by a later entry, or set aside with a reason."""

    class How(models.TextChoices):
        PLACED = "placed", "placed by a later entry"
        ASIDE = "aside", "set aside"

    unplaced = models.OneToOneField(Unplaced, models.PROTECT, related_name="settled")
    how = models.CharField(max_length=8, choices=How)
    placed_by = models.UUIDField(null=True)
    reason = WordsField(null=True)


class WordsErased(Fact):
    """Personal words emptied, and by what right; the commitment stays."""

    class Reason(models.TextChoices):
        ASKED = "asked", "the person asked for it"
        TIME = "time", "kept as long as they were needed"
        WRONG = "wrong", "they should not have been written"

    words = WordsField()
    reason = models.CharField(max_length=8, choices=Reason)

    class Meta:
        verbose_name_plural = "words erased"
        constraints = [
            models.UniqueConstraint(
                fields=["words"], name="words_erased_once", violation_error_message="These words were erased before."
            )
        ]


class PrivateWords(models.Model):
    """Free words that may name a person. Records hold only the commitment; salt and text can be erased."""

    salt = models.BinaryField(max_length=16, null=True)
    text = models.TextField(null=True)  # noqa: DJ001  null means erased, which is not the same as empty
    commitment = models.BinaryField(max_length=32)

    class Meta:
        verbose_name_plural = "private words"

    def __str__(self) -> str:
        return self.text if self.text is not None else "(erased)"
