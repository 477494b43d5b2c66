"""What can happen to charts: a piece begins anew, limits are frozen, a signal is answered."""

from __future__ import annotations

from datetime import datetime

from plant.catalogue.models import Characteristic
from records.inspection.models import Measurement
from records.ledger.acts import Free, Said, act
from records.ledger.refusals import Refused
from records.ledger.words import keep_words

from .freezing import baseline_from
from .models import Baseline, BaselinePoint, ChartBreak, SignalAnswer


def break_chart(characteristic: Characteristic, *, words: str, said: Said) -> ChartBreak:
    """Begin a new piece of a chart from the time of the act on."""
    with act("chart broken", said, characteristic=characteristic.pk, words=Free(words)) as a:
        if a.made:
            return ChartBreak.objects.get(entry=a.entry)
        return a.write(ChartBreak(characteristic=characteristic, at=a.at, words=keep_words(words)))


def freeze_limits(
    characteristic: Characteristic, *, from_at: datetime, to_at: datetime, words: str, said: Said
) -> Baseline:
    """Freeze a chart's limits from a span of measurements.

    Refuses ``too-few`` where the span holds fewer than 20 values, and ``no-reason``.
    """
    stated = {"from_at": from_at, "to_at": to_at, "words": Free(words)}
    with act("limits frozen", said, characteristic=characteristic.pk, **stated) as a:
        if a.made:
            return Baseline.objects.get(entry=a.entry)
        if not words.strip():
            raise Refused("no-reason", "Write why the limits are set from this span.")
        baseline, points = baseline_from(characteristic, from_at, to_at)
        baseline.words = keep_words(words)
        a.write(baseline)
        a.write_all(BaselinePoint(baseline=baseline, n=n, measurement=p) for n, p in enumerate(points, start=1))
        return baseline


def answer_signal(
    measurement: Measurement, *, rule: str, cause_found: bool, removed: bool, words: str, said: Said
) -> SignalAnswer:
    """Answer a signal: whether its cause was found and removed, and what it was. Refuses ``no-reason``."""
    stated = {"rule": rule, "cause_found": cause_found, "removed": removed, "words": Free(words)}
    with act("signal answered", said, measurement=measurement.pk, **stated) as a:
        if a.made:
            return SignalAnswer.objects.get(entry=a.entry)
        if not words.strip():
            raise Refused("no-reason", "Write what was found.")
        return a.write(
            SignalAnswer(
                characteristic=measurement.characteristic_revision.characteristic,
                measurement=measurement,
                rule=rule,
                cause_found=cause_found,
                removed=removed,
                words=keep_words(words),
            )
        )
