"""The one table role x act: which roles may do which act. Every action asks it before anything else."""

from __future__ import annotations

from django.db import models


class Role(models.TextChoices):
    OPERATOR = "operator", "operator"
    LEAD = "lead", "shift lead"
    STORES = "stores", "stores"
    REVIEW = "review", "review"
    ENGINEER = "engineer", "engineer"
    MANAGER = "manager", "manager"
    AUDITOR = "auditor", "auditor"


_FLOOR = frozenset({Role.OPERATOR, Role.LEAD})
_STORES = frozenset({Role.STORES})
_GOODS_OUT = frozenset({Role.STORES, Role.OPERATOR, Role.LEAD})
_REVIEW = frozenset({Role.REVIEW})
_DESK = frozenset({Role.REVIEW, Role.LEAD})
_SET_UP = frozenset({Role.ENGINEER})
_APPROVE = frozenset({Role.ENGINEER, Role.MANAGER})
# An auditor reads and changes nothing; everybody else may stand on the floor and need the lead.
_CALLERS = frozenset(Role) - {Role.AUDITOR}
# Whom a call rings for, or who is told of a hold.
_TOLD = frozenset({Role.LEAD, Role.REVIEW, Role.STORES, Role.MANAGER})

RIGHTS: dict[str, frozenset[Role]] = {
    "works opened": frozenset(),
    "entry unplaced": frozenset(),
    # people and devices
    "person added": frozenset({Role.MANAGER}),
    "roles changed": frozenset({Role.MANAGER}),
    "qualification given": frozenset({Role.MANAGER, Role.LEAD}),
    "badge closed": frozenset({Role.MANAGER}),
    "badge opened": frozenset({Role.MANAGER}),
    # Everybody their own; another's the manager alone, as the action asks.
    "password set": frozenset(Role),
    "pin set": frozenset(Role),
    "language set": frozenset(Role),
    "deputy named": frozenset({Role.MANAGER}),
    "tablet registered": frozenset({Role.LEAD, Role.ENGINEER, Role.MANAGER}),
    "tablet locked out": frozenset({Role.LEAD, Role.REVIEW, Role.MANAGER}),
    "tablet settled": frozenset({Role.REVIEW, Role.MANAGER}),
    # Everybody their own, at sign-in on a tablet of the works.
    "key made": frozenset(Role),
    # set-up
    "change proposed": _SET_UP,
    "change approved": _APPROVE,
    "gauge calibrated": frozenset({Role.ENGINEER, Role.REVIEW}),
    "equipment added": _SET_UP,
    "printer set": _SET_UP,
    # stores
    "lot received": _STORES,
    "certificate read": _STORES,
    "receipt corrected": _STORES | _REVIEW,
    "lot accepted": _STORES,
    "lot rejected": _STORES,
    "lot released at risk": _REVIEW,
    "lot sent back": _STORES,
    "keeping logged": _STORES | _FLOOR,
    "life extended": _REVIEW,
    "lot split": _STORES | _FLOOR,
    "lots merged": _STORES | _FLOOR,
    "pot mixed": _STORES | _FLOOR,
    "pot metered": _STORES | _FLOOR,
    "tank charged": _STORES | _FLOOR,
    "tank drawn": _STORES | _FLOOR,
    "tank cleaned": _STORES | _FLOOR,
    "lot mounted": _STORES | _FLOOR,
    "item moved": _STORES | _FLOOR | _REVIEW,
    "item scrapped": _STORES | _DESK,
    "stock counted": _STORES,
    "count explained": _STORES | _DESK,
    "sent out": _GOODS_OUT,
    "come back": _GOODS_OUT,
    "shipped": _STORES | _REVIEW,
    "frame returned": _STORES | _REVIEW,
    "consignments swapped": _STORES | _REVIEW,
    "label printed": _GOODS_OUT | _REVIEW | _SET_UP | {Role.MANAGER},
    "label checked": _GOODS_OUT | _REVIEW | _SET_UP | {Role.MANAGER},
    "passport opened": _STORES | _REVIEW,
    "passport closed": _REVIEW,
    # the floor
    "unit made": _FLOOR,
    "step done": _FLOOR,
    "measured again later": _FLOOR | _REVIEW,
    "measured": _FLOOR | _REVIEW,
    "carrier put on": _FLOOR | _STORES | _REVIEW,
    "carrier taken off": _FLOOR | _STORES | _REVIEW,
    "run recorded": _FLOOR | _SET_UP,
    "log read": _FLOOR | _SET_UP | _REVIEW,
    "run assessed": _SET_UP | _REVIEW,
    "run decided": _REVIEW,
    "lead called": _CALLERS,
    "call answered": _DESK,
    "notice seen": _TOLD,
    # Who was called phones or is told, whatever their role: a note under their own name.
    "told by voice": _CALLERS,
    "sheet printed": _DESK | frozenset({Role.MANAGER}),
    "sheet returned": _DESK | frozenset({Role.MANAGER}),
    "shift handed over": frozenset({Role.LEAD}),
    "difference noted": frozenset(),
    "difference answered": _REVIEW,
    # corrections
    "unit taken out": _FLOOR | _REVIEW,
    "unit put in": _FLOOR | _REVIEW,
    "use told late": _FLOOR | _DESK | _STORES,
    "link corrected": _DESK | _FLOOR | _STORES,
    "entry withdrawn": _DESK | _FLOOR | _STORES,
    "measurement corrected": _FLOOR | _REVIEW,
    "renumbered": _DESK,
    "labels swapped": _DESK,
    "swap confirmed": _DESK | _FLOOR,
    "coupon cut": _FLOOR | _REVIEW,
    # A lead puts aside and sends back along the route; what lets something go stays with Review.
    "put aside": _DESK,
    "sent to rework": _DESK,
    # decisions
    "hold placed": _FLOOR | _REVIEW | _STORES,
    "hold lifted": _REVIEW,
    "unit released": _REVIEW,
    "departure noted": _FLOOR | _REVIEW,
    "damage reported": frozenset(),  # by the program, for whoever has the frame
    "departure decided": _REVIEW,
    "departure countersigned": frozenset({Role.REVIEW, Role.ENGINEER, Role.MANAGER}),
    "unplaced settled": _REVIEW,
    "flag answered": _REVIEW,
    "words erased": frozenset({Role.MANAGER}),
    # charts
    "chart broken": _SET_UP,
    "limits frozen": _SET_UP,
    "signal answered": _REVIEW,
}


# A role as it stands in a sentence.
_WHO: dict[Role, str] = {
    Role.OPERATOR: "an operator",
    Role.LEAD: "a shift lead",
    Role.STORES: "Stores",
    Role.REVIEW: "Review",
    Role.ENGINEER: "an engineer",
    Role.MANAGER: "the manager",
    Role.AUDITOR: "an auditor",
}


def whose(roles: frozenset[Role]) -> str:
    """Those who may, as words in the order of the table of roles.

    Examples
    --------
    >>> whose(RIGHTS["lot released at risk"]), whose(RIGHTS["item scrapped"])
    ('Review', 'a shift lead, Stores or Review')
    """
    words = [said for role, said in _WHO.items() if role in roles]
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def not_yours(act: str) -> str:
    """What is said to somebody whose role may not do an act: whose it is."""
    return f"“{act[:1].upper()}{act[1:]}” is for {whose(RIGHTS[act])}: ask there. Nothing was changed."
