"""Entries that were typed in from numbered sheets of paper."""

from __future__ import annotations

from collections.abc import Iterable

from .models import FromPaper


def papers_of(entries: Iterable[int]) -> dict[int, FromPaper]:
    """The sheet, line and maker of each entry that was typed in from paper; one query."""
    rows = FromPaper.objects.filter(entry__in=set(entries)).select_related("maker__name_words")
    return {row.entry_id: row for row in rows}
