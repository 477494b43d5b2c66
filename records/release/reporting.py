"""What whoever has a frame tells of it: the form, the ticket that it carries, the photo; without a session."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from django import forms
from django.core import signing
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from plant.people.models import Person
from records.ledger.acts import Said
from records.ledger.clock import clock
from records.ledger.photos import keep_photo
from records.ledger.refusals import Refused
from records.quality.actions import ask_more_reports, report_damage
from records.quality.models import Nonconformance

from .models import Passport

# Choices of this project, no source: a phone's photo has 3 to 8 MB, nobody writes a report in two seconds, and one who
# was called away comes back the same day.
MOST_OF_PHOTO = 10_000_000
MOST_SENT = MOST_OF_PHOTO + 200_000
LEAST_TIME, LONGEST_TIME = timedelta(seconds=2), timedelta(days=1)
_SIGNER = signing.Signer(salt="records.release.reporting")


@dataclass(frozen=True)
class Ticket:
    """What a form was drawn with: for which passport, when, and under which key a report of it is kept."""

    passport: int
    key: UUID
    drawn_at: datetime

    @classmethod
    def drawn(cls, passport: Passport) -> str:
        """A new one, signed: a form can be sent for this page alone, and only by whoever has read it."""
        told = {"passport": passport.pk, "key": str(uuid4()), "at": clock.now().isoformat()}
        return _SIGNER.sign_object(told)

    @classmethod
    def read(cls, text: str) -> Ticket:
        """A ticket that comes back. Raises ``BadSignature`` for one that was never given out."""
        told = _SIGNER.unsign_object(text)
        return cls(told["passport"], UUID(told["key"]), datetime.fromisoformat(told["at"]))


class DamageForm(forms.Form):
    """What is wrong with a frame, a photo, and whom to answer."""

    ticket = forms.CharField(widget=forms.HiddenInput, required=False)
    words = forms.CharField(
        max_length=4000,
        label=_("What do you see, hear or feel, and where on the frame?"),
        widget=forms.Textarea({"rows": 6}),
        error_messages={"required": _("Write what you see, and where.")},
    )
    photo = forms.FileField(
        required=False,
        label=_("A photo"),
        help_text=_("JPEG, PNG or WebP, up to 10 MB. Place and time that the camera wrote into it are taken out."),
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
        error_messages={"empty": _("This picture is empty. Take it once more.")},
    )
    contact = forms.CharField(
        required=False,
        max_length=200,
        label=_("Telephone or e-mail, so that we can answer"),
        help_text=_(
            "Kept with this report, read by those who decide on it, used to answer and for nothing else. It is erased "
            "when you ask for it."
        ),
        widget=forms.TextInput({"autocomplete": "email"}),
    )
    # No person sees this field: what fills it in fills in everything.
    website = forms.CharField(required=False, widget=forms.TextInput({"tabindex": "-1", "autocomplete": "off"}))

    def __init__(self, passport: Passport, *sent: Any) -> None:
        super().__init__(*sent)
        self.passport = passport
        self.told_of: Ticket | None = None

    def clean_photo(self) -> UploadedFile | None:
        photo = self.cleaned_data["photo"]
        if photo is not None and photo.size > MOST_OF_PHOTO:
            raise forms.ValidationError(_("This picture is larger than 10 MB. Send a smaller one, or none."))
        return photo

    def clean(self) -> dict[str, Any]:
        """Whether a person sent it, from this page, today; what was written stays where not."""
        told: dict[str, Any] = super().clean() or {}
        try:
            self.told_of = Ticket.read(told.get("ticket", ""))
        except (signing.BadSignature, ValueError):
            self.told_of = None
        since = clock.now() - self.told_of.drawn_at if self.told_of else None
        is_ours = self.told_of is not None and self.told_of.passport == self.passport.pk
        if since is None or not is_ours or since > LONGEST_TIME:
            raise forms.ValidationError(_("This page was open for too long. Press the key once more."))
        if told.get("website") or since < LEAST_TIME:
            raise forms.ValidationError(_("This was not sent by hand, as far as we can tell. Press the key once more."))
        return told

    def taken(self) -> Nonconformance | None:
        """The report as it was taken; none where something is to be put right, which the form then says."""
        if not self.is_valid() or self.told_of is None:
            return None
        told = self.cleaned_data
        try:
            ask_more_reports(self.passport.unit)  # before a photo is kept, else photos alone could fill the disk
        except Refused as refused:
            self.add_error(None, str(refused))
            return None
        try:
            photos = (keep_photo(told["photo"].read()).sha256,) if told["photo"] else ()
        except Refused as refused:
            self.add_error("photo", str(refused))
            return None
        # The same report sent twice is one; another one from the same page is another.
        key = uuid5(self.told_of.key, "\0".join([told["words"], told["contact"], *photos]))
        by = Person.objects.program()
        said = Said(by, key, self.told_of.drawn_at, photos=photos, told={"passport": self.passport.pk})
        try:
            return report_damage(self.passport.unit.state.code, words=told["words"], contact=told["contact"], said=said)
        except Refused as refused:
            self.add_error(None, str(refused))
            return None
