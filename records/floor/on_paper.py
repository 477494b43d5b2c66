"""What is typed in from an emergency sheet: the fields that its walk carries, and the entry that they make."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as noop

from plant.people.queries import works_zone
from plant.templatetags.showing import when
from plant.times import read_time
from records.ledger.refusals import Refused

# Why there is no photo of the paper, as it is kept.
NO_PHOTO = {
    "no-camera": noop("there is no camera and no file here"),
    "paper-gone": noop("the paper is lost or destroyed"),
    "unreadable": noop("the paper can’t be read in a picture"),
}
CARRIED = ("sheet", "line", "paper_at", "paper_by", "paper_photo", "paper_no_photo")


def from_paper(told: Mapping[str, str]) -> dict[str, object]:
    """Fields of an entry that is typed in from a sheet: it happened when the paper says. None for any other."""
    if not told.get("sheet"):
        return {}
    line = int(told["line"]) if told.get("line", "").isdecimal() else 0
    paper = {"sheet": told["sheet"], "line": line, "by": told.get("paper_by", "")}
    paper |= {"no_photo": told["paper_no_photo"]} if told.get("paper_no_photo") else {}
    photos = {"photos": [told["paper_photo"]]} if told.get("paper_photo") else {}
    return {"paper": paper, "made_at": told.get("paper_at", ""), "done": True, **photos}


def shown_of_paper(told: Mapping[str, str]) -> list[tuple[str, str]]:
    """What is shown of the sheet that an entry is typed in from."""
    if not told.get("sheet"):
        return []
    line = _("%(sheet)s, line %(line)s") % {"sheet": told["sheet"], "line": told.get("line", "")}
    why = NO_PHOTO.get(told.get("paper_no_photo", ""), "")
    shown = _("its photo is kept") if told.get("paper_photo") else _(why) if why else ""
    found = [(_("From sheet"), line), (_("Written"), _written_at(told.get("paper_at", "")))]
    return [*found, (_("Photo"), shown)] if shown else found


def _written_at(text: str) -> str:
    """The time on the paper as the works' clock shows it; as it was sent where it can't be read."""
    try:
        return when(read_time(text, works_zone()))
    except Refused:
        return text
