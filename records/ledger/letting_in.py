"""Who is let in: whether a person may do an act, and what is wrong with whoever sends it; asked before its rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .refusals import Refused

if TYPE_CHECKING:
    from .acts import Act, Said


def let_in(a: Act, kind: str) -> None:
    """Whether this person may do this act, and what is wrong with whoever sends it."""
    maker = a.said.by
    if not a.said.lets(maker, kind):
        if maker.login and not maker.is_active:
            raise Refused("not-allowed", "This badge is closed: nothing is taken under it any more. Ask your lead.")
        raise Refused("not-allowed", "Your role may not do this: %(act)s. Ask your lead.", act=kind)
    if not maker.may(kind):
        a.flag("right-ended", act=kind)
    for doubt in a.said.doubts:
        a.refuse_or_flag(doubt.code, doubt.words, **doubt.facts)
    if a.said.told.get("time_unsure"):
        a.flag("time-unsure")
    _show_paper(a.said)
    if a.said.told.get("no_photo"):
        a.flag("paper-not-shown", why=a.said.told["no_photo"])
    for left in a.said.told.get("photos_left", ()):
        a.flag("photo-left-out", **left)


def _show_paper(said: Said) -> None:
    """Refuse ``paper-not-shown`` for what was typed in from paper without its photo, or why there is none."""
    if (paper := said.paper) and not (said.photos or said.told.get("no_photo") or said.told.get("photos_left")):
        raise Refused(
            "paper-not-shown",
            "Line %(line)s of %(sheet)s came without a photo of the paper. Send the photo, or why none can be made.",
            sheet=paper.sheet,
            line=paper.line,
        )
