"""Words that records and the rulebook hold and that the floor shows: they stay English where they are kept, compared or
sent, and are said in the language of the badge where they are shown (``plant.speaking.word``, ``say()`` on a tablet).

A works that names its own operations, readings and gauges adds them here and translates them with the rest; one that is
not on the list is shown as the works wrote it.
"""

from __future__ import annotations

KINDS = (
    "fibre",
    "resin",
    "hardener",
    "mixed resin",
    "adhesive",
    "adhesive hardener",
    "mixed adhesive",
    "frame insert",
    "binder",
    "coupon",
    "preform",
    "front triangle",
    "rear triangle",
    "frame",
    "bladder",
    # as they are kept, where a refusal names them so
    "resin-mix",
    "adhesive-mix",
    "adhesive-hardener",
    "insert",
    "front",
    "rear",
    "insert-set",
    "tank",
    "bin",
    "lot",
    "unit",
)
TOOLS = (
    "mandrel",
    "mould",
    "mould insert set",
    "jig",
    "cutter",
    "calliper",
    "bore gauge",
    "length bar",
    "scale",
    "gauge",
)
STATIONS = ("stores", "winding", "mixing", "press", "drill", "bonding", "polish", "bench")
STATION_NAMES = ("Stores", "Winding", "Mixing", "Press 1", "Press 2", "Drill cell", "Bonding", "Polish", "Bench")
OPERATIONS = (
    "wind",
    "leak test",
    "bladder hold",
    "fill",
    "start cure",
    "end cure",
    "vent",
    "demould",
    "deburr",
    "bond",
    "final",
    "cure",
    "preform out",
    "prepare",
    "set",
    "set bond",
    "weigh",
)
MEASURES = (
    "pressure-rise",
    "pressure-drop",
    "shell-width",
    "shell-bore",
    "stay-length",
    "rear-offset",
    "bond-line",
    "uv-passes",
    "bond line",
    "uv passes",
    "heater",
    "mass",
    "programme",
    "splices",
    "tension",
    "pressure rise",
    "pressure drop",
    "shell width",
    "shell bore",
    "stay length",
    "rear offset",
)
PARTS = (
    "carbon fibre, 24 k",
    "carbon fibre, high modulus",
    "infusion resin",
    "hardener for RES-A",
    "bonding paste",
    "hardener for ADH-A",
    "frame insert, bottom bracket",
    "UV-set binder",
    "coupon cut from a part",
    "wound tube preform",
)
# Acts, where a role may not do one.
ACTS = (
    "step done",
    "unit made",
    "measured",
    "hold placed",
    "pot mixed",
    "pot metered",
    "tank charged",
    "tank drawn",
    "tank cleaned",
    "item moved",
    "sent out",
    "come back",
    "stock counted",
    "shipped",
    "lead called",
    "notice seen",
    "shift handed over",
    "told by voice",
    # what an entry is called on the page of what is kept on a tablet
    "call the lead",
    "hand-over",
    "answer a call",
    "tablet registered",
)
MIXES = ("resin", "adhesive")
# What an answer is called where it is told again, and what is asked for one after the other.
ANSWERS = ("Outside", "Amount", "Number", "Why", "Put on", "Seen", "Code", "To", "Mix")
THINGS = (
    *("tag", "traveller", "label", "permanent mark", "the tool that holds it"),
    "spool",
    "pot of adhesive",
    "pot",
    "lot that goes in",
    "or",
)
STATES = (
    "within",
    "near edge",
    "outside",
    "not shown",
    "accepted",
    "rejected",
    "released at risk",
    "confirmed",
    "possible",
)

WORDS = tuple(
    dict.fromkeys(
        (
            *(*KINDS, *TOOLS, *STATIONS, *STATION_NAMES, *OPERATIONS, *MEASURES, *PARTS),
            *(*ACTS, *MIXES, *ANSWERS, *THINGS, *STATES),
        )
    )
)
