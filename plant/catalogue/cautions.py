"""What can hurt at a step, in short sentences. They defer to data sheets, local rules and licensed practice.

Common practice of composite work, no source, save where the sentence names one. Nothing here replaces the supplier's
safety data sheet, the works' own risk assessment, the machine's manual or the law where the works stands.
"""

from __future__ import annotations

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

EVERYWHERE = _(
    "The data sheet of the lot, the works’ rules and the law come first. If you feel unwell or your skin reacts, "
    "stop and tell your lead."
)
CAUTIONS: dict[str, str] = {
    # Skin allergy: EU-OSHA's pages on exposure to epoxy resins (from memory).
    "epoxy": _(
        "Resin and hardener can cause a lasting allergy. Right gloves, changed often; never clean skin with solvent."
    ),
    "mixing": _(
        "Small batches: a standing pot can boil, smoke and burn. Leftovers thin, in the marked place, "
        "never in a closed bin. Resin and hardener can cause a lasting allergy: right gloves, changed "
        "often."
    ),
    "vacuum": _("Glass can implode. Guard the trap. Never open a chamber under vacuum."),
    "fibre-dust": _(
        "Loose fibre itches, must not be breathed in, and conducts: keep it out of cabinets and sockets. "
        "Hands, hair and sleeves away from the turning mandrel."
    ),
    # Directive 2006/25/EC on artificial optical radiation sets exposure limits.
    "uv": _("The lamp burns eyes and skin without warning. Only behind its screen; never look in."),
    "bladder": _(
        "Pressurised gas stores energy. Close and lock the mould first, never go over the marked "
        "pressure, vent to zero and read the gauge before you open."
    ),
    "hot-tool": _(
        "A hot mould burns in about a second. Heat gloves; hands out of the closing mould; the two-hand "
        "control stays on. Vent pressure to zero before you open."
    ),
    "injection": _(
        "Resin under pressure can spray. Goggles and face shield; clear of the fittings; vent before you loosen a hose."
    ),
    "demoulding": _("Sharp flash, hot edges. Knife away from the body, gloves that resist cuts."),
    "dust": _(
        "Take dust at the source, wear the mask given, no compressed air to clean. Carbon dust shorts "
        "electrics. Cure first, then sand."
    ),
    "solvent": _(
        "Solvents burn and dull the head: small amounts, closed cans, no flame or spark, air. Rags in the"
        " metal bin. Wet adhesive can cause a lasting allergy: right gloves."
    ),
    "local-heating": _("Hot blankets and irons: check the sensor before you switch on; do not leave."),
    "polishing": _("Guard on; no loose gloves or sleeves; fine dust at the source."),
    "painting": _(
        "Two-pack paint can hold isocyanates: only in the booth with fed air, out until the clearance time is over."
    ),
    "freezer": _("Cold burns: gloves. Leave the bag closed until it is warm and dry outside."),
    "testing": _("Broken carbon is sharp and flies: guard shut, glasses on."),
}


def caution_words(code: str) -> str:
    """Sentences of a caution, or of several between commas; one that the route words itself stands as it is.

    Examples
    --------
    >>> caution_words("hot-tool,bladder").count("burns in about a second"), caution_words("mind-your-step")
    (1, 'Mind your step')
    """
    codes = [one.strip() for one in code.split(",")]
    if all(one in CAUTIONS for one in codes):
        return " ".join(gettext(CAUTIONS[one]) for one in codes)
    return code.replace("-", " ").capitalize()
