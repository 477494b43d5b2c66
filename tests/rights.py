"""The table of rights of the pages: address, what is sent, and the roles that are let through. Everybody else gets 403.

A room appends its rows here. ``args`` and ``sends`` may name what ``tests.worlds.Waiting`` holds, in braces.
"""

from dataclasses import dataclass, field

from plant.people.rights import Role

EVERYBODY = frozenset(Role)
DESK = EVERYBODY - {Role.OPERATOR}
REVIEW = frozenset({Role.REVIEW})
HOLDERS = frozenset({Role.OPERATOR, Role.LEAD, Role.STORES, Role.REVIEW})
NOTERS = frozenset({Role.OPERATOR, Role.LEAD, Role.REVIEW})
HERE = "TW-26-004202"

# Open without a badge, each for its reason: one cannot be in before one comes in.
WITHOUT_BADGE = {"people:sign_in"}
# Read-only pages of the framework, behind their own sign-in; and going out, which is for whoever is in.
NOT_OURS = ("admin:",)


@dataclass(frozen=True)
class Page:
    """Who may open an address (``sends`` is None) or send a form to it."""

    name: str
    lets: frozenset[str]
    args: list[str] = field(default_factory=list)
    sends: dict[str, str] | None = None


WORDS = {"words": "seen with Iris"}
PAGES = [
    Page("home", EVERYBODY),
    Page("people:sign_out", EVERYBODY, sends={}),
    Page("items:stock", DESK),
    Page("items:lot_receive", frozenset({Role.STORES})),
    Page(
        "items:lot_receive",
        frozenset({Role.STORES}),
        sends={"part": "FIB-24", "amount": "2 kg", "supplier": "Fellgate Supply", "code": "FL-9999"},
    ),
    Page("items:lot_decide", frozenset({Role.STORES, Role.REVIEW}), ["RB-1142"]),
    Page("items:lot_decide", frozenset({Role.STORES, Role.REVIEW}), ["RB-1142"], {"choice": "accept"}),
    Page("trace:find", DESK),
    Page("trace:unit", DESK, [HERE]),
    Page("trace:lot_to_frames", DESK, ["RB-1142"]),
    Page("trace:hold_place", HOLDERS, [HERE]),
    Page("trace:hold_place", HOLDERS, [HERE], {"reason": "doubt", "scope": "1"}),
    Page("trace:hold_lift", REVIEW, ["{hold}"]),
    Page("trace:hold_lift", REVIEW, ["{hold}"], WORDS),
    Page("quality:bench", DESK),
    Page("quality:departure_note", NOTERS, [HERE]),
    Page("quality:departure_note", NOTERS, [HERE], {"defect": "void", **WORDS}),
    Page("quality:departure", DESK, ["{departure}"]),
    Page("quality:departure_decide", REVIEW, ["{departure}"]),
    Page("quality:departure_decide", REVIEW, ["{departure}"], {"choice": "rework", **WORDS}),
    Page("quality:departure_countersign", REVIEW | {Role.ENGINEER, Role.MANAGER}, ["{decided}"]),
    Page("quality:departure_countersign", REVIEW | {Role.ENGINEER, Role.MANAGER}, ["{decided}"], {}),
    Page("quality:unplaced_settle", REVIEW, ["{unplaced}"]),
    Page("quality:unplaced_settle", REVIEW, ["{unplaced}"], {"reason": "told again by hand"}),
    Page("quality:labels_swap", REVIEW | {Role.LEAD}),
    Page(
        "quality:labels_swap",
        REVIEW | {Role.LEAD},
        sends={"one": "TB-0001", "other": "TB-0002", "since": "2026-03-09T08:00", **WORDS},
    ),
    Page("quality:swap_confirm", NOTERS, ["{swap}"]),
    Page("quality:swap_confirm", NOTERS, ["{swap}"], WORDS),
    Page("release:unit_release", REVIEW, [HERE]),
    Page("release:unit_release", REVIEW, [HERE], {}),
    Page("release:unit_ship", REVIEW | {Role.STORES}, [HERE]),
    Page("release:unit_ship", REVIEW | {Role.STORES}, [HERE], {"to": "Dealer Larkmere"}),
]
