"""Fields into which a code is scanned: a bare one, or a whole symbol as the scanner sends it."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from plant.codes import KINDS, certain, read_typed
from plant.scans import LONGEST, Scan, read_scan
from records.ledger.refusals import Refused

from .queries import find_item

LONGEST_CODE, LONGEST_LOT = 40, 80


class ScannedField(forms.CharField):
    """A code of something on file, by scan or typed."""

    is_scanned = True

    def __init__(self, label: str, *, hint: str = "Scan it, or type its code.", **more: Any) -> None:
        super().__init__(max_length=LONGEST, label=label, help_text=hint, strip=False, **more)

    def clean(self, value: Any) -> str:
        told = super().clean(value)
        return scanned_code(told) if told.strip() else ""


class NewCodeField(forms.CharField):
    """A code off a printed label, for something new. One of the house is held to its check digit and its kind."""

    is_scanned = True

    def __init__(
        self, label: str = "Code", hint: str = "Scan its label. Empty: the house gives one.", *, required: bool = False
    ) -> None:
        super().__init__(max_length=LONGEST, required=required, label=label, help_text=hint, strip=False)

    def clean(self, value: Any) -> str:
        told = super().clean(value)
        return new_code(told) if told.strip() else ""


class TheirLotField(forms.CharField):
    """The lot on a supplier's label: as it was typed, or the one that the label's symbol names."""

    is_scanned = True

    def __init__(self) -> None:
        super().__init__(
            max_length=LONGEST,
            required=False,
            label="Lot on their label",
            help_text="Scan it, or type it.",
            strip=False,
        )

    def clean(self, value: Any) -> str:
        told = super().clean(value)
        if not told.strip():
            return ""
        scan = _read(told)
        lot = told.strip() if scan.form == "plain" else scan.code
        if scan.doubt is not None and (scan.form != "plain" or scan.doubt.how == "layout"):
            raise forms.ValidationError(str(scan.doubt))
        if len(lot) > LONGEST_LOT:
            raise forms.ValidationError(f"A lot has at most {LONGEST_LOT} signs. Write the lot alone.")
        return lot


def scanned_code(text: str) -> str:
    """The code of something on file that a label holds. Raises ``ValidationError`` for one that is not certain."""
    scan = _read(text)
    if scan.doubt is not None and find_item(scan.code) is None:
        raise forms.ValidationError(str(scan.doubt))
    return scan.code


def new_code(text: str) -> str:
    """The code for something new that a label holds. Raises ``ValidationError`` for what can't be one."""
    scan = _read(text)
    try:
        code = read_typed(scan.code)
    except Refused as refused:
        raise forms.ValidationError(
            f"{scan.code} can't be a label of the house: its check digit does not fit. Scan it once more."
        ) from refused
    if scan.doubt is not None:
        raise forms.ValidationError(str(scan.doubt))
    if not any(sign.isalnum() for sign in code):
        raise forms.ValidationError(f"“{code}” has no letter and no figure: that is no code. Scan it once more.")
    if len(code) > LONGEST_CODE:
        raise forms.ValidationError(
            f"{code} has more than {LONGEST_CODE} signs: no code is so long. Scan it once more."
        )
    if _LIKE_A_HOUSE_CODE.fullmatch(code) and code[:2] in KINDS and not certain(code):
        raise forms.ValidationError(
            f"{code} looks like a label of the house, whose codes have figures alone behind the kind. Scan it once "
            "more."
        )
    return code


_LIKE_A_HOUSE_CODE = re.compile(r"[A-Z]{2}-\w{2}-\w{6}-\w", re.ASCII)


def _read(text: str) -> Scan:
    try:
        return read_scan(text)
    except Refused as refused:
        raise forms.ValidationError(str(refused)) from refused
