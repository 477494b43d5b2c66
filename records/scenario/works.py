"""The invented Tarnside Works as it is opened: people, stations, tools, parts, routes, recipes, bands.

Every name and number is made up for the trial; none is a default for a real part.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from plant.catalogue.specs import (
    CertificateSpec,
    CharacteristicSpec,
    GaugeSpec,
    InputSpec,
    MixSpec,
    Opening,
    OperationSpec,
    PartSpec,
    PersonSpec,
    ReadingSpec,
    RecipeSpec,
    RecorderSpec,
    RouteSpec,
    RuleSpec,
    StationSpec,
    TankSpec,
    ToolSpec,
)
from plant.codes import house_code
from plant.people.rights import Role

ZONE = "Europe/Berlin"
YEAR = 2026
FIRST_DAY = date(2026, 3, 2)  # a Monday
CHECKED_FOR = timedelta(days=335)  # so long a gauge is relied on once it was checked
PASSWORD = "tarnside-demo"  # for the trial on this machine only


def code(prefix: str, number: int) -> str:
    """Code of the house for the year of the scenario."""
    return house_code(prefix, YEAR, number)


PEOPLE = {
    "marta": ("Marta B.", Role.OPERATOR),
    "lenz": ("Lenz H.", Role.OPERATOR),
    "jonas": ("Jonas W.", Role.LEAD),
    "odo": ("Odo F.", Role.STORES),
    "quill": ("Quill S.", Role.REVIEW),
    "iris": ("Iris K.", Role.REVIEW),
    "edda": ("Edda T.", Role.ENGINEER),
    "tilo": ("Tilo R.", Role.ENGINEER),
    "runa": ("Runa V.", Role.MANAGER),
    "vesna": ("Vesna L.", Role.AUDITOR),
}
BADGES = {name: code("PB", n) for n, name in enumerate(PEOPLE, start=1)}

_STATIONS = ("Stores", "Winding", "Mixing", "Press 1", "Press 2", "Drill cell", "Bonding", "Polish", "Bench")
_KINDS = ("stores", "winding", "mixing", "press", "press", "drill", "bonding", "polish", "bench")
STATIONS = {name: code("ST", n) for n, name in enumerate(_STATIONS, start=1)}

MANDRELS = [code("MD", n) for n in (1, 2)]
MOULDS = {"front": [code("ML", 1), code("ML", 2)], "rear": [code("ML", 3), code("ML", 4)]}
INSERT_SETS = [code("MS", n) for n in (1, 2)]
BLADDERS = [code("BL", n) for n in (1, 2, 3, 4)]
JIG = code("JG", 1)
CUTTER = code("CT", 1)
CALLIPER, BORE_GAUGE, RULER = code("GA", 1), code("GA", 2), code("GA", 3)
SCALE_FINE, SCALE_BIG = code("GA", 4), code("GA", 5)
RECORDERS = [code("RC", n) for n in (1, 2, 3)]
TANK, BIN = code("TK", 1), code("BN", 1)
LEAK_RECIPE, CURE_RECIPE = code("RP", 1), code("RP", 2)

PROGRAMME = ReadingSpec("programme", "text")  # by its revision
PREPARED_MIN = 240  # so long a surface made ready for bonding stays so
CURED_MIN = 60  # so long a mould cures at least
BOND_RESTS_MIN = 120  # so long a bond sets, at least, before anybody polishes
CHECKED_MIN = 90  # so long a leak test and a bladder's hold are relied on
SHOT = "180 g"
PAINTER = "Painter Quarry Row"
SUPPLIERS = {"fibre": "Fellgate Supply", "resin": "Gillside Resins", "metal": "Hollow Beck Metals"}
DEALERS = ("Dealer Larkmere", "Dealer Stonegarth", "Dealer Wether Fold")


def opening(first_day: date = FIRST_DAY) -> Opening:
    """Everything that the works is opened with on the eve of its first day."""
    return Opening(
        name="Tarnside Works",
        zone=ZONE,
        code="TW",
        people=[PersonSpec(BADGES[key], name, (role,), PASSWORD) for key, (name, role) in PEOPLE.items()],
        stations=[
            StationSpec(station, name, kind) for (name, station), kind in zip(STATIONS.items(), _KINDS, strict=True)
        ],
        tools=_tools(),
        recorders=[RecorderSpec(recorder, "logger", ZONE) for recorder in RECORDERS],
        gauges=_gauges(first_day + CHECKED_FOR),
        parts=_parts(),
        mixes=[
            MixSpec("resin", "RMX", {"RES-A": "100", "HRD-A": "30"}, "0.02", 60),
            MixSpec("adhesive", "AMX", {"ADH-A": "100", "ADH-B": "50"}, "0.03", 45),
        ],
        tanks=[TankSpec(TANK, "RES-A"), TankSpec(BIN, "INS-52", "bin")],
        characteristics=_characteristics(),
        routes=_routes(),
        recipes=_recipes(),
    )


def _tools() -> list[ToolSpec]:
    tools = [ToolSpec(mandrel, "mandrel", 5000) for mandrel in MANDRELS]
    tools += [ToolSpec(mould, "mould", 2000) for moulds in MOULDS.values() for mould in moulds]
    tools += [ToolSpec(inserts, "insert-set", 500) for inserts in INSERT_SETS]
    tools += [ToolSpec(bladder, "bladder", 60) for bladder in BLADDERS]
    return [*tools, ToolSpec(JIG, "jig"), ToolSpec(CUTTER, "cutter", 400)]


def _gauges(due: date) -> list[GaugeSpec]:
    measures = [GaugeSpec(CALLIPER, "calliper", "length", due), GaugeSpec(BORE_GAUGE, "bore gauge", "length", due)]
    scales = [GaugeSpec(scale, "scale", "mass", due) for scale in (SCALE_FINE, SCALE_BIG)]
    return [*measures, GaugeSpec(RULER, "length bar", "length", due), *scales]


def _parts() -> list[PartSpec]:
    materials = [
        PartSpec("FIB-24", "fibre", "g", "carbon fibre, 24 k", "FB"),
        PartSpec(
            "FIB-46",
            "fibre",
            "g",
            "carbon fibre, high modulus",
            "FB",
            certificate=[CertificateSpec("tensile modulus", "GPa", lower="370")],
        ),
        PartSpec(
            "RES-A",
            "resin",
            "g",
            "infusion resin",
            "RB",
            opened_life="90 d",
            certificate=[CertificateSpec("viscosity at 25 degC", "mPa s", "250", "400")],
        ),
        PartSpec(
            "HRD-A",
            "hardener",
            "g",
            "hardener for RES-A",
            "HB",
            certificate=[CertificateSpec("amine value", "mg KOH/g", "460", "500")],
        ),
        PartSpec("RMX", "resin-mix", "g", "mixed resin", "PT"),
        PartSpec("ADH-A", "adhesive", "g", "bonding paste", "AD"),
        PartSpec("ADH-B", "adhesive-hardener", "g", "hardener for ADH-A", "AH"),
        PartSpec("AMX", "adhesive-mix", "g", "mixed adhesive", "PT"),
        PartSpec("INS-52", "insert", "pcs", "frame insert, bottom bracket", "NS"),
        PartSpec("BND-U", "binder", "g", "UV-set binder", "BD"),
        PartSpec("CUP", "coupon", "pcs", "coupon cut from a part", "CU"),
        PartSpec("TUBE", "preform", name="wound tube preform", prefix="PF"),
    ]
    for short, model in (("OS", "OSIER"), ("SE", "SEDGE")):
        materials += [
            PartSpec(f"{short}-F", "front", name=f"{model.title()} front triangle", prefix="FT"),
            PartSpec(f"{short}-R", "rear", name=f"{model.title()} rear triangle", prefix="RT"),
            PartSpec(model, "frame", name=f"{model.title()} frame", prefix="TW"),
        ]
    return materials


def _characteristics() -> list[CharacteristicSpec]:
    measures = []
    for short, model in (("OS", "OSIER"), ("SE", "SEDGE")):
        measures += [
            CharacteristicSpec(
                "shell-width", f"{short}-F", "mm", "73", "0.15", "0.15", gauge_kind="calliper", is_key=True
            ),
            CharacteristicSpec(
                "shell-bore", f"{short}-F", "mm", "41", "0.05", "0.01", decimals=3, gauge_kind="bore gauge", readings=3
            ),
            CharacteristicSpec(
                "stay-length", f"{short}-R", "mm", "410", "0.5", "0.5", gauge_kind="length bar", is_key=True
            ),
            CharacteristicSpec("rear-offset", model, "mm", upper="0.8", gauge_kind="calliper", is_key=True),
        ]
    return measures


def _routes() -> list[RouteSpec]:
    routes = [RouteSpec("TUBE", _wound())]
    for short, model in (("OS", "OSIER"), ("SE", "SEDGE")):
        inserts = [InputSpec("insert", "INS-52", "1 pcs")]
        routes.append(RouteSpec(f"{short}-F", _moulded("shell-width", inserts)))
        routes.append(RouteSpec(f"{short}-R", _moulded("stay-length")))
        routes.append(RouteSpec(model, _bonded()))
    return routes


def _wound() -> list[OperationSpec]:
    """A tube is wound over binder, set under the lamp layer by layer, and taken off its mandrel."""
    lots = [InputSpec("fibre"), InputSpec("binder", "BND-U")]
    off = [
        ReadingSpec("tension", "N", "15", "35"),
        ReadingSpec("splices", "pcs", upper="2"),
        ReadingSpec("mass", "g", "250", "350"),
    ]
    return [
        OperationSpec(
            "wind", "winding", "mandrel", "fibre-dust,epoxy", inputs=lots, readings=[PROGRAMME], carrier="tool"
        ),
        OperationSpec("set", "winding", caution="uv", readings=[ReadingSpec("uv-passes", "pcs", "2", "6")]),
        OperationSpec("preform out", "winding", caution="fibre-dust", readings=off, carrier="tag"),
    ]


def _moulded(measure: str, inserts: Sequence[InputSpec] = ()) -> list[OperationSpec]:
    rise = ReadingSpec("pressure-rise", "mbar", upper="0.5")
    drop = ReadingSpec("pressure-drop", "mbar", upper="50")
    gauge = ReadingSpec("gauge", "bar", upper="0")
    return [
        OperationSpec(
            "mould",
            "press",
            "mould",
            "hot-tool,bladder",
            inputs=inserts,
            runs=["leak-test", "cure"],
            carrier="tool",
        ),
        OperationSpec("leak test", "press", caution="vacuum", readings=[rise], good_for_min=CHECKED_MIN),
        OperationSpec("bladder hold", "press", caution="bladder", readings=[drop], good_for_min=CHECKED_MIN),
        OperationSpec("fill", "press", caution="injection,hot-tool", inputs=[InputSpec("resin-mix", "RMX", SHOT)]),
        OperationSpec("start cure", "press", caution="hot-tool", makes_safe=True, rest_min=CURED_MIN),
        OperationSpec("end cure", "press", caution="hot-tool", makes_safe=True),
        OperationSpec("vent", "press", caution="bladder", makes_safe=True, readings=[gauge]),
        OperationSpec("demould", "press", caution="demoulding", makes_safe=True, carrier="tag"),
        OperationSpec("drill", "drill", "cutter", "dust", readings=[PROGRAMME]),
        OperationSpec("deburr", "drill", caution="dust", measures=[measure], carrier="label"),
        OperationSpec("prepare", "bonding", caution="dust,solvent", good_for_min=PREPARED_MIN),
    ]


def _bonded() -> list[OperationSpec]:
    return [
        OperationSpec("bond", "bonding", "jig", "solvent", carrier="tool"),
        OperationSpec(
            "set bond",
            "bonding",
            caution="local-heating",
            readings=[ReadingSpec("bond-line", "mm", "0.1", "0.6"), ReadingSpec("heater", "°C", "55", "70")],
            rest_min=BOND_RESTS_MIN,
            carrier="traveller",
        ),
        OperationSpec("polish", "polish", caution="polishing,dust", carrier="mark"),
        OperationSpec("final", "bench", measures=["rear-offset"]),
        OperationSpec("weigh", "bench", readings=[ReadingSpec("mass", "g", "1100", "1700")]),
    ]


def _recipes() -> list[RecipeSpec]:
    return [
        RecipeSpec(
            LEAK_RECIPE,
            "leak-test",
            [
                RuleSpec("ultimate", "mbar", upper="8"),
                RuleSpec("hold", "min", lower="8"),
                RuleSpec("leak-rate", "mbar", upper="0.5"),
            ],
        ),
        RecipeSpec(
            CURE_RECIPE,
            "cure",
            [
                RuleSpec("soak-coldest", "min", level="75", level_unit="degC", lower="45"),
                RuleSpec("peak", "degC", upper="95"),
                RuleSpec("heat-up-max", "K", upper="4"),
                RuleSpec("probes-working", "pc", level="75", level_unit="degC", lower="2"),
            ],
        ),
    ]
