"""Pots: components are weighed together; the pot has a life from then on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from plant.catalogue.models import MixComponent, MixRevision, Part
from plant.catalogue.queries import mix_in_force
from plant.codes import fold
from plant.equipment.models import Calibration, Gauge
from plant.equipment.queries import gauge_by_code, is_overdue
from plant.people.seconding import second_person
from plant.quantities import print_steps
from records.ledger.acts import Act, Said, act
from records.ledger.refusals import Refused

from ..gates import hold_by_cause
from ..making import Birth, Drawn, Input, bear, change_amount, drawn_for, link_lots, lot_for, place_named
from ..models import Item


@dataclass(frozen=True)
class Weighing:
    """How a pot was weighed: on which scales, where. Without a scale the ratio is not judged.

    A scale stands with each mass; where there is one alone, it is that of every mass. ``beside``: another person read
    a typed mass, in place of a second reading, and signs beside the maker.
    """

    scales: tuple[str, ...] = ()
    station: str = ""
    beside: bool = False

    def as_read(self) -> dict[str, Any]:
        told: dict[str, Any] = {"scales": self.scales, "station": self.station}
        return told | ({"beside": True} if self.beside else {})

    def of(self, wanted: Input) -> Input:
        """A mass with the scale that it was weighed on, as far as that is known."""
        return wanted if wanted.scale or len(self.scales) != 1 else replace(wanted, scale=self.scales[0])


def mix_pot(pot: str, *, mix: str, inputs: Sequence[Input], weighing: Weighing | None = None, said: Said) -> Item:
    """Mix a pot from its components: a lot good for the mix's pot life, that instant included.

    The ratio is judged only where a scale is named. Refuses as any use of a lot, ``code-taken``, ``unknown``;
    ``wrong-kind`` for a lot that is no component; at the gate also ``scale-too-coarse``, ``off-ratio`` and, where
    another person was to confirm a mass and did not sign, ``second-person``.
    """
    weighing = weighing or Weighing()
    stated: dict[str, Any] = {"mix": mix, "inputs": [wanted.as_read() for wanted in inputs], **weighing.as_read()}
    with act("pot mixed", said, pot=fold(pot), **stated) as a:
        if a.made:
            return Item.objects.get(entry=a.entry, revision__part=mix_in_force(mix, a.at).part)
        if weighing.beside:
            second_person(a)
        return make_pot(a, pot, mix, inputs, weighing)


def make_pot(
    a: Act, pot: str, mix: str, inputs: Sequence[Input], weighing: Weighing, *, is_metered: bool = False
) -> Item:
    """A pot from its components, in an open act: of a person who weighs, or of a machine that metered."""
    revision = mix_in_force(mix, a.at)
    components = {c.part_id: c for c in MixComponent.objects.filter(mix_revision=revision).select_related("part")}
    inputs = [weighing.of(wanted) for wanted in inputs]
    lots = [lot_for(a, wanted, kinds=[c.part.kind for c in components.values()]) for wanted in inputs]
    for lot in lots:
        if lot.part.pk not in components:
            raise Refused("wrong-kind", "%(code)s is no part of %(mix)s. Scan another lot.", code=lot.code, mix=mix)
    drawn = drawn_for(a, inputs)
    if not drawn:
        raise Refused("unknown", "Scan what goes into the pot.")
    told = {gauge.pk: gauge for gauge in (gauge_by_code(code) for code in weighing.scales)}
    scales = list((told | {d.scale.pk: d.scale for d in drawn if d.scale}).values())
    if scales or is_metered:
        judge_ratio(a, revision, drawn, scales)
    life = timedelta(milliseconds=revision.pot_life_ms)
    item = bear(a, Birth(pot, revision.part, good_until=a.at + life), place_named(a, weighing.station))
    link_lots(a, item, drawn, reason="mix")
    change_amount(a, item, sum(d.quantity.steps for d in drawn))
    hold_by_cause(a, [item])
    return item


def judge_ratio(a: Act, revision: MixRevision, drawn: Sequence[Drawn], scales: Sequence[Gauge]) -> None:
    """Judge each component's ratio against its tolerance, as far as its own scale can, or the coarsest of them.

    At the gate a scale that can't judge the ratio, or a ratio outside, is refused before anything is poured; told of
    a pot that is mixed already, both are flagged. Without a scale the masses count as a machine tells them.
    """
    masses: dict[int, int] = {}
    steps: dict[int, int] = {}
    shown = {scale.pk: step_of_scale(scale) for scale in scales}
    for d in drawn:
        part = d.lot.part.pk
        masses[part] = masses.get(part, 0) + d.quantity.steps
        steps[part] = max(steps.get(part, 0), shown[d.scale.pk] if d.scale else max(shown.values(), default=0))
    components = list(revision.components.select_related("part").order_by("n"))
    base = components[0]
    base_mass = masses.get(base.part_id, 0)
    for scale in scales:
        if is_overdue(scale, a.at):
            a.flag("gauge-overdue", gauge=scale.pk)
    for component in components[1:]:
        wanted, play = due_mass(component, base, base_mass)
        _judge(a, component.part, masses.get(component.part_id, 0), wanted, play, steps.get(component.part_id, 0))


def due_mass(component: MixComponent, base: MixComponent, base_mass: int) -> tuple[int, int]:
    """Mass that is due of a component for so much of the base, and how far off it may be. [ug]"""
    wanted = base_mass * component.ratio_ppb // base.ratio_ppb
    return wanted, base_mass * min(component.plus_ppb, component.minus_ppb) // base.ratio_ppb


def _judge(a: Act, part: Part, mass: int, wanted: int, play: int, step: int) -> None:
    if play and step > play:
        a.refuse_or_flag(
            "scale-too-coarse",
            "This scale reads %(step)s g; %(part)s may be off by %(play)s g at most. Use the fine scale.",
            part=part.number,
            step=print_steps(step, "g", "mass"),
            play=print_steps(play, "g", "mass"),
        )
    if abs(mass - wanted) > play:
        a.refuse_or_flag(
            "off-ratio",
            "%(part)s is %(mass)s g where %(wanted)s g are due. Weigh it again; a wrong mix can't be mended.",
            part=part.number,
            mass=print_steps(mass, "g", "mass"),
            wanted=print_steps(wanted, "g", "mass"),
        )


def step_of_scale(scale: Gauge) -> int:
    """Coarser of a scale's resolution and its expanded uncertainty, by its newest calibration. [ug]"""
    newest = Calibration.objects.filter(gauge=scale, unit_kind="mass").order_by("-done_at", "-pk").first()
    if newest is None:
        return 0
    return max(newest.resolution or 0, newest.expanded or 0)
