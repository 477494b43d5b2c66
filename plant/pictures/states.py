"""States in shape, colour and word, the same wherever one is shown. No Django."""

from __future__ import annotations

# state -> shape, colour, word. The shape's family says what kind of statement it is.
STATES: dict[str, tuple[str, str, str]] = {
    "within": ("within", "good", "Within"),
    "near-edge": ("edge", "watch", "Near edge"),
    "outside": ("outside", "bad", "Outside"),
    "outside-high": ("outside", "bad", "Outside, high"),
    "outside-low": ("outside-low", "bad", "Outside, low"),
    "not-shown": ("waiting", "ask", "Not shown"),
    "missing": ("waiting", "calm", "Missing"),
    "waiting": ("waiting", "calm", "Not started"),
    "working": ("working", "run", "In work"),
    "done": ("done", "good", "Done"),
    "here": ("working", "good", "Here"),
    "gone": ("done", "run", "Gone"),
    "released": ("released", "good", "Released"),
    "accept": ("released", "good", "Accepted"),
    "accepted": ("released", "good", "Accepted"),
    "quarantine": ("waiting", "calm", "In quarantine"),
    "allowed": ("allowed", "watch", "Allowed as is"),
    "risk": ("allowed", "watch", "Released at risk"),
    "at-risk": ("allowed", "watch", "Released at risk"),
    "reject": ("scrap", "calm", "Rejected"),
    "undecided": ("waiting", "ask", "Never decided on"),
    "held": ("held", "bad", "Held"),
    "scrapped": ("scrap", "calm", "Scrapped"),
    "signal": ("signal", "ask", "Signal"),
    "confirmed": ("named", "ask", "Has it"),
    "possible": ("waiting", "ask", "Can't rule out"),
    "ended": ("corrected", "calm", "Taken out"),
    "corrected": ("corrected", "calm", "Corrected"),
    "withdrawn": ("corrected", "calm", "Withdrawn"),
    "queued": ("queued", "calm", "On this tablet"),
}
