"""A pot is weighed: each part of the mix against its own ratio, and the number that the pot gets."""

from __future__ import annotations

from collections.abc import Iterator

from plant.catalogue.models import MixComponent, MixRevision, Part
from plant.catalogue.queries import mix_in_force
from records.items.actions.pots import due_mass
from records.ledger.clock import clock

from .asking import Choice, Question, Told, ask_lots, ask_scale
from .bands import Band
from .pieces import One, Payload, lots_told, number_of

OFF_RATIO = (
    Choice("again", "Weigh it again", "Nothing is kept of this weight."),
    Choice("done", "It is mixed already", "It is kept and marked, and Review is told."),
)


class Mixed:
    """The components of a mix, each weighed against what is due for the first."""

    def asks(self, told: Told) -> Iterator[Question]:
        choices = [Choice(name, name.capitalize()) for name in mixes()]
        yield Question("mix", "What do you mix?", "Mix", choices=choices, kind="choice")
        if not told.get("mix"):
            return
        yield ask_scale()
        components = components_of(told["mix"])
        for component in components:
            name, part = f"component-{component.n}", component.part
            band = due_band(told, component, components[0])
            yield from ask_lots(told, name, part.name or part.number, [part.kind], band=band)
            if band is not None:
                yield from ask_ratio(told, name, band, part)

    def tells(self, told: Told) -> Payload:
        lots = [lot for c in components_of(told["mix"]) for lot in lots_told(told, f"component-{c.n}")]
        return {"mix": told["mix"], "components": lots, "scales": [told["scale"]] if told.get("scale") else []}

    def data(self) -> Payload:
        names = mixes()
        parts = {name: [_component_data(c) for c in components_of(name)] for name in names}
        scale = One(ask_scale(), "scales", listed=True).data()
        makes = {name: mix_in_force(name, clock.now()).part.kind for name in names}
        return {
            "piece": "mix",
            "mixes": parts,
            "makes": makes,
            "lives": {name: mix_in_force(name, clock.now()).pot_life_ms for name in names},
            "scale": scale,
            "off": [list(choice) for choice in OFF_RATIO],
        }


def mixes() -> list[str]:
    """Names of the mixes that are approved."""
    approved = MixRevision.objects.filter(proposal__approval__isnull=False)
    return sorted(set(approved.values_list("mix", flat=True)))


def _component_data(component: MixComponent) -> Payload:
    """A component with its parts per billion of the first, and how far off it may be."""
    part = component.part
    told = {"n": component.n, "part": part.number, "word": part.name or part.number, "of": [part.kind]}
    play = min(component.plus_ppb, component.minus_ppb)
    return told | {"ratio": component.ratio_ppb, "play": play}


def components_of(mix: str) -> list[MixComponent]:
    """Components of a mix in force, in the order in which they are weighed."""
    rows = MixComponent.objects.filter(mix_revision=mix_in_force(mix, clock.now()))
    return list(rows.order_by("n").select_related("part"))


def mass_told(told: Told, name: str) -> int:
    """Mass of one component among the answers. [ug] What can't be read yet counts as nothing."""
    whole = Band("g", "mass")
    return sum(whole.read(lot["amount"].removesuffix(" g")) or 0 for lot in lots_told(told, name))


def due_band(told: Told, component: MixComponent, base: MixComponent) -> Band | None:
    """Mass that is due of a component for what was weighed of the first; none for the first, or without a scale."""
    mass = mass_told(told, f"component-{base.n}")
    if component.n == base.n or not told.get("scale") or not mass:
        return None
    wanted, play = due_mass(component, base, mass)
    finest = next((step for step in (10**6, 10**5, 10**4) if play >= 10 * step), 1)  # a tenth of the play or finer
    return Band("g", "mass", wanted - play, wanted + play, wanted, finest)


def ask_ratio(told: Told, name: str, band: Band, part: Part) -> Iterator[Question]:
    """Said before anything is mixed: a component that is off its ratio."""
    mass = band.printed(mass_told(told, name))
    if band.verdict(mass).startswith("outside"):
        tells = f"{band.aimed} g are due, {band.words}. A wrong mix can’t be mended."
        asks = f"{mass} g of {part.name or part.number} is {band.distance(mass)} the band"
        yield Question(f"{name}-stop", asks, "Stop", choices=OFF_RATIO, tells=tells)


class PotNumber:
    """The number of a mixed pot."""

    def asks(self, told: Told) -> Iterator[Question]:
        if told.get("mix"):
            yield from self._of(mix_in_force(told["mix"], clock.now()).part).asks(told)

    def tells(self, told: Told) -> Payload:
        return self._of().tells(told)

    def data(self) -> Payload:
        return self._of(*(mix_in_force(name, clock.now()).part for name in mixes())).data()

    @staticmethod
    def _of(*parts: Part) -> One:
        return number_of("pot", "the pot’s label", has_own=all(part.prefix for part in parts))
