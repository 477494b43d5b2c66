"""What bad frames share: lots, tools and people that they have and the others of their time do not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from plant.catalogue.models import Part
from plant.catalogue.queries import cut_off_ppb
from plant.equipment.models import Tool
from plant.people.models import Person
from records.items.making import fits
from records.items.models import Item, Link
from records.items.queries import item_by_code, names_of
from records.ledger.clock import clock
from records.ledger.marks import Mark
from records.quality.models import Disposition, Nonconformance
from records.steps.queries import traits_of_steps

from .labelling import POSSIBLE
from .suspects import Suspect, rank_suspects, tied_first
from .walking import walk

Trait = tuple[str, str]


def suspects_of(bad: Sequence[str], among: Sequence[str], mark: Mark | None = None) -> tuple[Suspect[Trait], ...]:
    """The suspects that come first, tied, in the field from the first to the last bad frame; none without a trait.

    ``among`` names which traits are looked at: lot, tool, person. Refuses ``unknown``, and ``wrong-kind`` for what is
    no frame.
    """
    frames = [item_by_code(code, mark) for code in bad]
    for frame in frames:
        fits(frame, [Part.Kind.FRAME])
    return tied_first(rank_shared(frames, among, mark))


def rank_shared(
    frames: Sequence[Item], among: Sequence[str], mark: Mark | None = None, *, around: timedelta = timedelta(0)
) -> tuple[Suspect[Trait], ...]:
    """What bad frames have, the least likely by chance first, in the field from the first to the last of them.

    ``around`` widens the field to both sides: bad frames that were bonded one after the other have nobody between.
    """
    traits = {frame: traits_of(frame, among, mark) for frame in frames_between(frames, mark, around)}
    return rank_suspects(traits, bad={frame.pk for frame in frames})


def failed_frames() -> list[Item]:
    """Frames that failed in use and of which nobody has found that they did not, the first bonded first."""
    failed = Nonconformance.objects.newest().filter(defect=Nonconformance.Defect.FIELD)
    failed = failed.exclude(disposition__choice=Disposition.Choice.NONE)
    frames = Item.objects.filter(pk__in=failed.values("item"), revision__part__kind=Part.Kind.FRAME)
    return list(frames.select_related("state", "revision__part").order_by("born_at", "pk"))


def frames_between(frames: Sequence[Item], mark: Mark | None = None, around: timedelta = timedelta(0)) -> list[int]:
    """Every frame bonded from the first to the last of some, both included, and some time around them."""
    born = [frame.born_at for frame in frames]
    span = (min(born) - around, max(born) + around)
    rows = Item.objects.known(mark).filter(revision__part__kind=Part.Kind.FRAME, born_at__range=span)
    return list(rows.order_by("born_at", "pk").values_list("pk", flat=True))


def traits_of(frame: int, among: Sequence[str], mark: Mark | None = None) -> set[Trait]:
    """Lots in a frame, and tools and people of every step of it and of the units in it."""
    labels = walk([frame], down=False, mark=mark).labels
    cut_off = cut_off_ppb(clock.now()) or 0
    listed = [pk for pk, label in labels.items() if label.cls < POSSIBLE or label.share_ppb >= cut_off]
    kinds = dict(Item.objects.filter(pk__in=listed).values_list("pk", "kind"))
    traits: set[Trait] = set()
    if "lot" in among:
        lots = [pk for pk, kind in kinds.items() if kind == Part.Tracked.LOT]
        traits |= {("lot", names.code) for names in names_of(lots, mark).values()}
    units = [pk for pk, kind in kinds.items() if kind == Part.Tracked.UNIT]
    of_steps = traits_of_steps(units, mark).values()
    if "tool" in among:
        used = {tool for found in of_steps for tool in found["tool"]}
        traits |= {("tool", code) for code in Tool.objects.filter(pk__in=used).values_list("code", flat=True)}
    if "person" in among:
        people = {person for found in of_steps for person in found["person"]} | _reworkers(units, mark)
        badges = Person.objects.filter(pk__in=people).values_list("badge", flat=True)
        traits |= {("person", badge) for badge in badges}
    return traits


def _reworkers(units: Sequence[int], mark: Mark | None) -> set[int]:
    """People who put something into units in rework."""
    links = Link.objects.known(mark).filter(child_id__in=units, first=None, reason="rework")
    return set(links.values_list("entry__by_id", flat=True))
