"""The table of rights of the pages: address, what is sent, and the roles that are let through. Everybody else gets 403.

A room appends its rows here. ``args`` and ``sends`` may name in braces what ``tests.worlds.Waiting`` and
``tests.desks.OnDesks`` hold; ``asks`` is what follows the address, ``body`` is sent as JSON, bytes as a picture.
"""

from dataclasses import dataclass, field

from plant.people.rights import Role
from tests.photos import a_picture

EVERYBODY = frozenset(Role)
DESK = EVERYBODY - {Role.OPERATOR}
REVIEW = frozenset({Role.REVIEW})
STORES = frozenset({Role.STORES})
DECIDERS = frozenset({Role.REVIEW, Role.LEAD})
HOLDERS = frozenset({Role.OPERATOR, Role.LEAD, Role.STORES, Role.REVIEW})
NOTERS = frozenset({Role.OPERATOR, Role.LEAD, Role.REVIEW})
LABELLERS = EVERYBODY - {Role.AUDITOR}
HERE = "TW-26-004202"

# Open without a badge, each for its reason: one cannot be in before one comes in, and a machine that watches has none.
# Whoever has a frame has none either: its public page, by the code on it, is the same for everybody.
PASSPORT = {f"passport:{name}" for name in ("frame", "frame_by_link", "old_link", "report", "reported")}
WITHOUT_BADGE = {"people:sign_in", "floor:sign_in_here", "floor:words", "health", *PASSPORT}
# Read-only pages of the framework, behind their own sign-in; and going out, which is for whoever is in.
NOT_OURS = ("admin:",)


@dataclass(frozen=True)
class Page:
    """Who may open an address (``sends`` is None) or send a form to it."""

    name: str
    lets: frozenset[str]
    args: list[str] = field(default_factory=list)
    sends: dict[str, str] | None = None
    asks: str = ""
    body: str | bytes = ""


WORDS = {"words": "seen with Iris"}
PAGES = [
    Page("home", EVERYBODY),
    Page("people:sign_out", EVERYBODY, sends={}),
    Page("people:typed", EVERYBODY),
    Page("people:own_password", EVERYBODY),
    Page("people:own_password", EVERYBODY, sends={}),
    Page("people:own_pin", EVERYBODY),
    Page("people:own_pin", EVERYBODY, sends={}),
    Page("people:own_language", EVERYBODY),
    Page("people:own_language", EVERYBODY, sends={}),
    Page("items:stock", DESK),
    Page("items:lot_receive", frozenset({Role.STORES})),
    Page(
        "items:lot_receive",
        frozenset({Role.STORES}),
        sends={"part": "FIB-24", "amount": "2 kg", "supplier": "Fellgate Supply", "code": "FL-9999"},
    ),
    Page("trace:find", DESK),
    Page("trace:shared", DESK),
    Page("trace:unit", DESK, [HERE]),
    Page("trace:lot_to_frames", DESK, ["RB-1142"]),
    Page("trace:frame_list", DESK, ["RB-1142"]),
    Page("trace:hold_place", HOLDERS, [HERE]),
    Page("trace:hold_place", HOLDERS, [HERE], {"reason": "doubt", "scope": "1"}),
    Page("trace:hold_all", HOLDERS, ["RB-1142"]),
    Page("trace:hold_all", HOLDERS, ["RB-1142"], {"codes": HERE, "reason": "recall"}),
    Page("trace:hold_lift", REVIEW, ["{hold}"]),
    Page("trace:hold_lift", REVIEW, ["{hold}"], WORDS),
    Page("trace:hold_lift_several", REVIEW, ["{hold}"]),
    Page("trace:hold_lift_several", REVIEW, ["{hold}"], {"which": "all", **WORDS}),
    Page("quality:bench", DESK),
    Page("quality:past", DESK),
    Page("quality:unit_aside", DECIDERS, [HERE]),
    Page("quality:unit_aside", DECIDERS, [HERE], WORDS),
    Page("quality:unit_rework", DECIDERS, [HERE]),
    Page("quality:unit_rework", DECIDERS, [HERE], {"step": "final", **WORDS}),
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
    Page("quality:flag_answer", REVIEW, ["{flag}"]),
    Page("quality:flag_answer", REVIEW, ["{flag}"], {"found": "stands", **WORDS}),
    Page("release:going", DESK),
    Page("release:gone", DESK),
    Page("release:going", REVIEW | {Role.STORES}, sends={"codes": HERE, "to": "Dealer Larkmere"}),
    Page("release:unit_release", DESK, [HERE]),
    Page("release:unit_release", REVIEW, [HERE], {}),
    Page("release:unit_dossier", DESK, [HERE]),
    Page("release:unit_traveller", DESK, [HERE]),
    Page("release:unit_ship", REVIEW | {Role.STORES}, [HERE]),
    Page("release:unit_ship", REVIEW | {Role.STORES}, [HERE], {"to": "Dealer Larkmere"}),
]

FLOOR = frozenset({Role.OPERATOR, Role.LEAD})
NO_STORES = DESK - {Role.STORES}
MEASURERS = FLOOR | REVIEW
PUTTERS_RIGHT = NOTERS | {Role.STORES}
RUNNERS = FLOOR | {Role.ENGINEER}
ENGINEER, MANAGER = frozenset({Role.ENGINEER}), frozenset({Role.MANAGER})
SETTLERS = frozenset({Role.REVIEW, Role.MANAGER})
LOCKERS = frozenset({Role.LEAD, Role.REVIEW, Role.MANAGER})
REGISTRARS = frozenset({Role.LEAD, Role.ENGINEER, Role.MANAGER})
# A point on P-256: RFC 6979, A.2.5.
POINT = "BGD-1LolWp0xyWHrdMY1bWjASbiSO2H6bOZpYi5g8p-2eQP-EAi4vJmkGunpVii8ZPLxsgwtfp9Rd6PClNRGIpk"
SHELL = ["OSIER", "shell-width"]
MEASURED = ["{measurement}", "shell-width"]
CALLERS = EVERYBODY - {Role.AUDITOR}
ANSWERERS = frozenset({Role.LEAD, Role.REVIEW})
PRINTERS = frozenset({Role.LEAD, Role.REVIEW, Role.MANAGER})
PAGES += [
    Page("figures:figures", DESK - {Role.STORES}),
    Page("figures:figures_unsent", DESK - {Role.STORES}),
    Page("figures:figures_flags", DESK - {Role.STORES}),
    Page("floor:hand_over", EVERYBODY),
    Page("floor:hand_over", frozenset({Role.LEAD}), sends={}),
    Page("floor:hand_over_list", EVERYBODY),
    Page("floor:hand_over_before", EVERYBODY, ["{hand_over}"]),
    Page("days:kept_list", DESK),
    Page("days:kept_entry", DESK, ["{unplaced}"]),
    Page("days:difference", DESK, ["{difference}"]),
    Page("days:difference", REVIEW, ["{difference}"], {"found": "stands", **WORDS}),
    Page("days:bad_days", DESK),
    Page("days:tablet_list", DESK),
    Page("days:tablet_lock_out", LOCKERS, ["{tablet}"]),
    Page("days:tablet_lock_out", LOCKERS, ["{tablet}"], {"reason": "lost"}),
    Page("days:tablet_settle", SETTLERS, ["{lost}"]),
    Page("days:tablet_settle", SETTLERS, ["{lost}"], WORDS),
    Page("days:sheet_print", PRINTERS),
    Page("days:sheet_print", PRINTERS, sends={"station": "Bench"}),
    Page("days:sheet", DESK, ["{sheet}"]),
    Page("days:sheet_file", DESK, ["{sheet}"]),
    Page("days:sheet_return", PRINTERS, ["{sheet}"]),
    Page("days:sheet_return", PRINTERS, ["{sheet}"], {"lines": "1"}),
    Page("days:line_enter", FLOOR & DESK, ["{sheet}", "1"]),
    Page("floor:call_list", EVERYBODY),
    Page("floor:calls_waiting", EVERYBODY),
    Page("floor:notices_seen", EVERYBODY, sends={}, body='{"keys": []}'),
    Page("floor:call_state", EVERYBODY, ["{call}"]),
    Page("floor:lead_call", CALLERS, sends={"station": "Bench"}),
    Page("floor:call_told", CALLERS, ["{call}"]),
    Page("floor:call_told", CALLERS, ["{call}"], {"says": "told"}),
    Page("floor:call_answer", ANSWERERS, ["{call}"]),
    Page("floor:call_answer", ANSWERERS, ["{call}"], {"says": "coming"}),
    Page("floor:station_list", EVERYBODY),
    Page("floor:entries_take", EVERYBODY, sends={}, body='{"entries": []}'),
    Page("floor:photo_take", EVERYBODY, sends={}, body=a_picture()),
    Page("photo", EVERYBODY, ["{photo}"]),
    Page("floor:key_take", frozenset(), sends={}, body="{}"),  # nobody without the tablet's own proof
    Page("floor:tablet_here", REGISTRARS),
    Page("floor:tablet_here", REGISTRARS, sends={"station": "Bench", "public_key": POINT}),
    Page("floor:snapshot", EVERYBODY),
    Page("floor:worker", EVERYBODY),
    Page("floor:shell", EVERYBODY),
    Page("floor:kept", EVERYBODY),
    Page("floor:camera", EVERYBODY),
    Page("floor:codes_take", EVERYBODY),
    Page("floor:codes_take", EVERYBODY, sends={"lines": "FTC"}),
    Page("floor:tablet_fit", EVERYBODY),
    Page("floor:own", EVERYBODY),
    Page("floor:own", EVERYBODY, sends={}),
    Page("floor:own_pin", EVERYBODY),
    Page("floor:own_pin", EVERYBODY, sends={}),
    Page("floor:own_password", EVERYBODY),
    Page("floor:own_password", EVERYBODY, sends={}),
    Page("floor:file_take", EVERYBODY),
    Page("floor:file_take", EVERYBODY, sends={}),
    Page("floor:many", frozenset({Role.OPERATOR, Role.LEAD, Role.STORES}), ["Bench", "out"]),
    Page("floor:many", frozenset({Role.STORES}), ["Bench", "count"]),
    Page("floor:many", frozenset({Role.STORES, Role.REVIEW}), ["Bench", "ship"]),
    Page("floor:log", MEASURERS, ["Bench", "measure"], asks=f"?unit={HERE}"),
    Page("floor:log", HOLDERS, ["Bench", "hold"], asks=f"?unit={HERE}"),
    Page("floor:log", HOLDERS, ["Bench", "carrier"], asks=f"?unit={HERE}"),
    Page("floor:log", HOLDERS, ["Bench", "carrier"], asks=f"?unit={HERE}&put=tag"),
    Page("floor:log", HOLDERS, ["Bench", "carrier"], asks=f"?unit={HERE}&put=mark&reason=painted-over"),
    Page("floor:station", EVERYBODY, ["Bench"]),
    Page("floor:unit_here", EVERYBODY, ["Bench", HERE]),
    Page("floor:log", FLOOR, ["Bench", "step"], asks=f"?unit={HERE}&operation=final"),
    Page("floor:log", FLOOR | {Role.STORES}, ["Mixing", "pot"]),
    Page("floor:log", FLOOR, ["Bench", "step"], {"unit": HERE, "operation": "final", "made_at": "2026-03-09T08:00"}),
    Page("inspection:sheet", MEASURERS, [HERE]),
    Page("inspection:sheet", MEASURERS, [HERE], {}),
    Page("inspection:measurement_correct", MEASURERS, MEASURED),
    Page("inspection:measurement_correct", MEASURERS, MEASURED, {"value": "39.8", "reason": "read-wrong"}),
    Page("inspection:measurement_withdraw", PUTTERS_RIGHT, MEASURED),
    Page("inspection:measurement_withdraw", PUTTERS_RIGHT, MEASURED, WORDS),
    Page("inspection:gauge_list", NO_STORES),
    Page("inspection:gauge_page", NO_STORES, ["G-11"]),
    Page("spc:chart_list", NO_STORES),
    Page("spc:chart", NO_STORES, SHELL),
    Page("spc:limits_freeze", ENGINEER, SHELL),
    Page("spc:limits_freeze", ENGINEER, SHELL, {"from_at": "2026-03-01T08:00", "to_at": "2026-03-09T09:00", **WORDS}),
    Page("spc:chart_break", ENGINEER, SHELL),
    Page("spc:chart_break", ENGINEER, SHELL, WORDS),
    Page("spc:signal_answer", REVIEW, [*SHELL, "{signal}", "outside-limits"]),
    Page(
        "spc:signal_answer",
        REVIEW,
        [*SHELL, "{signal}", "outside-limits"],
        {"cause_found": "no", "removed": "no", **WORDS},
    ),
    Page("runs:run_list", NO_STORES),
    Page("runs:run", NO_STORES, ["{run}"]),
    Page("runs:runs_over", NO_STORES, asks="?run={run}"),
    Page("runs:log_file", NO_STORES, ["{log}"]),
    Page("runs:run_record", RUNNERS),
    Page("runs:run_record", RUNNERS, sends={"kind": "cure", "units": HERE, "began_at": "2026-03-09T05:00"}),
    Page("runs:shot_read", FLOOR | STORES),
    Page("runs:shot_read", FLOOR | STORES, sends={"mix": "EPOXY", "sources": "Resin total: RES-1"}),
    Page("runs:log_read", RUNNERS | REVIEW, ["{run}"]),
    Page("runs:log_read", RUNNERS | REVIEW, ["{run}"], {}),
    Page("runs:run_assess", ENGINEER | REVIEW, ["{run}"]),
    Page("runs:run_assess", ENGINEER | REVIEW, ["{run}"], {"recipe": "RP-26-000001-5"}),
    Page("runs:run_decide", REVIEW, ["{run}"]),
    Page("runs:run_decide", REVIEW, ["{run}"], {"choice": "accept", **WORDS}),
    Page("runs:recipe", DESK, ["{recipe}"]),
    Page("runs:recipe_propose", ENGINEER),
    Page(
        "runs:recipe_propose",
        ENGINEER,
        sends={"recipe": "RP-9", "kind": "cure", "feature-1": "peak", "upper-1": "95", "reason": "a trial"},
    ),
    Page("labels:label", LABELLERS, [HERE]),
    Page("labels:label", LABELLERS, [HERE], {"dots": "203", "reason": "torn"}),
    Page("labels:label", LABELLERS, ["G-11"]),
    Page("labels:label_check", LABELLERS, [HERE]),
    Page("labels:label_check", LABELLERS, [HERE], {"symbol": "[)>\x1e06\x1dSTW-26-004202\x1dZ1\x1e\x04"}),
    Page("labels:label_list", DESK),
    Page("labels:package_labels", LABELLERS, ["{delivery}"]),
    Page("labels:package_labels", LABELLERS, ["{delivery}"], {"dots": "203"}),
    Page("labels:package_file", EVERYBODY, ["{delivery}"]),
    Page("labels:passport", DESK, [HERE]),
    Page("labels:passport", REVIEW | STORES, [HERE], {"reason": "copied"}),
    Page("labels:passport_close", REVIEW, [HERE]),
    Page("labels:passport_close", REVIEW, [HERE], {"reason": "stolen"}),
    Page("quality:departure", DESK, ["{reported}"]),
    Page("quality:contact_erase", MANAGER, ["{reported}"]),
    Page("quality:contact_erase", MANAGER, ["{reported}"], {"reason": "asked"}),
    Page("items:consignment_swap", REVIEW | STORES, ["{consignment}"]),
    Page("items:consignment_swap", REVIEW | STORES, ["{consignment}"], {"one": HERE, "other": "X", **WORDS}),
    Page("carriers:carrier_list", DESK),
    Page("carriers:carrier_put", HOLDERS, [HERE]),
    Page("carriers:carrier_put", HOLDERS, [HERE], {"carrier": "mark", "symbol": HERE}),
    Page("carriers:carrier_back", HOLDERS, [HERE]),
    Page("carriers:carrier_back", HOLDERS, [HERE], {"which": "none", **WORDS}),
    Page("carriers:carrier_off", HOLDERS, [HERE]),
    Page("carriers:carrier_off", HOLDERS, [HERE], {"reason": "came-off"}),
    Page("labels:file", EVERYBODY, ["{label}"]),
    Page("labels:scanner_test", DESK),
    Page("floor:label_first", LABELLERS, sends={}, body=f'{{"code": "{HERE}", "station": "Bench"}}'),
    Page("floor:label_scan", LABELLERS, ["Bench"]),
    Page("floor:label_scan", LABELLERS, ["Bench"], {"printer": "LP-9"}),
    Page("floor:label_here", LABELLERS, ["Bench", HERE]),
    Page("floor:label_here", LABELLERS, ["Bench", HERE], {"printer": "LP-9"}),
    Page("steps:today", NO_STORES),
    Page("catalogue:rulebook", DESK),
    Page("catalogue:change_propose", ENGINEER, ["band"]),
    Page(
        "catalogue:change_propose",
        ENGINEER,
        ["part"],
        {"number": "FIB-50", "kind": "fibre", "unit": "g", "reason": "a finer tape"},
    ),
    Page("catalogue:proposal", DESK, ["{proposal}"]),
    Page("catalogue:proposal", ENGINEER | MANAGER, ["{proposal}"], {}),
    Page("staff:deputy_list", DESK),
    Page("staff:deputy_name", MANAGER),
    Page(
        "staff:deputy_name",
        MANAGER,
        sends={"decision": "hold lifted", "holder": "review", "deputy": "quill", "from_on": "2026-03-09"},
    ),
    Page("staff:person_list", DESK),
    Page("staff:person_add", MANAGER),
    Page("staff:person_add", MANAGER, sends={"badge": "nell", "name": "Nell", "roles": "operator"}),
    Page("staff:roles_change", MANAGER, ["{person}"]),
    Page("staff:roles_change", MANAGER, ["{person}"], {"roles": "lead"}),
    Page("staff:password_of", MANAGER, ["{person}"]),
    Page("staff:password_of", MANAGER, ["{person}"], {"new": "rushes and reeds", "again": "rushes and reeds"}),
    Page("staff:pin_of", MANAGER, ["{person}"]),
    Page("staff:pin_of", MANAGER, ["{person}"], {"new": "2749", "again": "2749"}),
    Page("staff:badge_of", MANAGER, ["{person}"]),
    Page("staff:badge_of", MANAGER, ["{person}"], {}),
    Page("staff:qualification_give", MANAGER | {Role.LEAD}, ["{person}"]),
    Page("staff:qualification_give", MANAGER | {Role.LEAD}, ["{person}"], {"what": "bond", "from_on": "2026-03-09"}),
    Page("equipment:equipment_list", DESK),
    Page("equipment:equipment_add", ENGINEER),
    Page("equipment:equipment_add", ENGINEER, sends={"what": "tool", "code": "M-09", "kind": "mould"}),
    Page("equipment:printer_list", DESK),
    Page("equipment:printer_add", ENGINEER),
    Page(
        "equipment:printer_add",
        ENGINEER,
        sends={"code": "LP-1", "ipp": "ipp://printer.example/ipp/print", "dots": "203"},
    ),
    Page("equipment:printer_set", ENGINEER, ["{printer}"]),
    Page("equipment:gauge_calibrate", ENGINEER | REVIEW, ["G-11"]),
    Page("equipment:gauge_calibrate", ENGINEER | REVIEW, ["G-11"], {"result": "good", "unit": "mm"}),
    Page("items:lot", DESK, ["RB-1142"]),
    Page("items:lot_split", FLOOR | {Role.STORES}, ["FL-0871"]),
    Page("items:lot_split", FLOOR | {Role.STORES}, ["FL-0871"], {"amount": "10 g"}),
    Page("items:lot_merge", FLOOR | STORES, ["FL-0871"]),
    Page("items:lot_merge", FLOOR | STORES, ["FL-0871"], {"amount": "1 g", "other": "FL-0872", "other_amount": "1 g"}),
    Page("items:lot_scrap", frozenset({Role.LEAD, Role.REVIEW, Role.STORES}), ["FL-0871"]),
    Page("items:lot_scrap", frozenset({Role.LEAD, Role.REVIEW, Role.STORES}), ["FL-0871"], {"amount": "1 g", **WORDS}),
    Page("items:lot_decide", STORES, ["RB-1142"]),
    Page("items:lot_decide", STORES, ["RB-1142"], {"choice": "reject", **WORDS}),
    Page("items:lot_risk", REVIEW, ["RB-1142"]),
    Page("items:lot_risk", REVIEW, ["RB-1142"], {"limit": "1 kg", "until": "2026-12-31T12:00", **WORDS}),
    Page("items:receipt_correct", STORES | REVIEW, ["RB-1142"]),
    Page(
        "items:receipt_correct", STORES | REVIEW, ["RB-1142"], {"amount": "21 kg", "supplier": "Fell Supply", **WORDS}
    ),
    Page("items:lot_certificate", STORES, ["RB-1142"]),
    Page("items:lot_certificate", STORES, ["RB-1142"], {"values": "viscosity = 310 mPa s"}),
    Page("items:lot_move", FLOOR | STORES | REVIEW, ["FL-0871"]),
    Page("items:lot_move", FLOOR | STORES | REVIEW, ["FL-0871"], {"station": "Press 1"}),
    Page("items:lot_keep", FLOOR | STORES, ["FL-0871"]),
    Page("items:lot_keep", FLOOR | STORES, ["FL-0871"], {"what": "opened", "done": "on"}),
    Page("items:lot_extend", REVIEW, ["FL-0871"]),
    Page("items:lot_extend", REVIEW, ["FL-0871"], {"until": "2027-12-31", "certificate": "LAB-7", **WORDS}),
    Page("items:lot_back", STORES, ["FL-0871"]),
    Page("items:lot_back", STORES, ["FL-0871"], {"amount": "1 g", **WORDS}),
    Page("items:tank_charge", FLOOR | STORES, ["T-1"]),
    Page("items:tank_charge", FLOOR | STORES, ["T-1"], {"lot": "RB-1142", "amount": "10 g", "done": "on"}),
    Page("items:tank_draw", FLOOR | STORES, ["T-1"]),
    Page("items:tank_draw", FLOOR | STORES, ["T-1"], {"amount": "1 g", "done": "on"}),
    Page("items:tank_clean", FLOOR | STORES, ["T-1"]),
    Page("items:tank_clean", FLOOR | STORES, ["T-1"], {}),
    Page("items:tank", DESK, ["T-1"]),
    Page("items:inputs", EVERYBODY, [HERE]),
    Page("items:input_correct", PUTTERS_RIGHT, ["{scan}", "{scanned}"]),
    Page("items:input_correct", PUTTERS_RIGHT, ["{scan}", "{scanned}"], {"choice": "none", **WORDS}),
    Page("items:input_late", PUTTERS_RIGHT, [HERE]),
    Page(
        "items:input_late",
        PUTTERS_RIGHT,
        [HERE],
        {"lot": "FL-0871", "amount": "1 g", "when": "2026-03-06T10:00", **WORDS},
    ),
    Page("items:keeping_withdraw", PUTTERS_RIGHT, ["{keeping}"]),
    Page("items:keeping_withdraw", PUTTERS_RIGHT, ["{keeping}"], WORDS),
    Page("items:clean_withdraw", PUTTERS_RIGHT, ["{cleaning}"]),
    Page("items:clean_withdraw", PUTTERS_RIGHT, ["{cleaning}"], WORDS),
    Page("items:consignment", DESK, ["{consignment}"]),
    Page("items:out_and_back", DESK),
    Page("items:counts", DESK),
    Page("items:count", frozenset({Role.STORES})),
    Page("items:count", frozenset({Role.STORES}), sends={"other": "FL-0871", "other_amount": "10 g"}),
    Page("items:count_explain", frozenset({Role.LEAD, Role.REVIEW, Role.STORES}), ["{count}"]),
    Page("items:count_explain", frozenset({Role.LEAD, Role.REVIEW, Role.STORES}), ["{count}"], {"why": "lost"}),
]
