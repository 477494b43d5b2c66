"""A study under the stable keys of the ``spc`` command, and as text for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from math import floor, log10
from typing import Any

from records.ledger.commands import columns
from records.spc.columns import Chosen
from records.spc.rules import RULES, Signal
from records.spc.study import Chart, Study

NO_RELEASE = "A chart tells how a process runs. It releases no part; a named person does."


def answer_of(study: Study, chosen: Chosen, *, name: str, aims: Mapping[str, Decimal | None]) -> dict[str, Any]:
    """The answer under its stable keys; unknown is null, never left out."""
    lower, upper, target = aims["lower"], aims["upper"], aims["target"]
    return {
        "command": "spc",
        "file": name,
        "chart": study.kind,
        "column": ", ".join(column.name for column in chosen.columns),
        "unit": chosen.columns[0].unit,
        "n": study.n,
        "missing": study.missing,
        "subgroups": study.subgroups,
        "trial": study.trial,
        "frozen": study.frozen,
        "charts": [_chart(chart) for chart in study.charts],
        "sigma": {
            "within": study.within.sigma,
            "how": study.within.how,
            "df": study.within.df,
            "overall": study.overall,
        },
        "signals": [_signal(chart, signal) for chart in study.charts for signal in chart.signals],
        "tolerance": {
            "lower": _float(lower),
            "upper": _float(upper),
            "target": _float(target),
            "off_target": None if target is None else study.mean - float(target),
            "outside": outside(chosen, lower, upper),
        },
        "indices": _indices(study),
        "cautions": [{"kind": caution.kind, "words": caution.words} for caution in study.cautions],
        "problems": [{"line": p.line, "kind": p.kind, "words": p.words} for p in chosen.problems],
    }


def outside(chosen: Chosen, lower: Decimal | None, upper: Decimal | None) -> list[dict[str, Any]]:
    """Readings outside the tolerance, compared digit by digit as written: on a limit is inside."""
    found: list[dict[str, Any]] = []
    for place in chosen.places:
        for reading in place.known:
            if lower is not None and reading < lower:
                found.append({"at": place.at, "value": float(reading), "verdict": "outside-low"})
            elif upper is not None and reading > upper:
                found.append({"at": place.at, "value": float(reading), "verdict": "outside-high"})
    return found


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)


def _chart(chart: Chart) -> dict[str, Any]:
    points: list[dict[str, Any]] = []
    fired = chart.fired()
    for place, (at, value, limits) in enumerate(zip(chart.at, chart.values, chart.each, strict=True)):
        if chart.name == "moving-range" and place == 0:  # the first reading has none by nature
            continue
        point: dict[str, Any] = {"at": at, "value": value, "signals": fired.get(place, [])}
        if chart.steps:
            point |= {"centre": limits.centre, "lower": limits.lower, "upper": limits.upper}
        points.append(point)
    whole = chart.limits
    return {"name": chart.name, "centre": whole.centre, "lower": whole.lower, "upper": whole.upper, "points": points}


def _signal(chart: Chart, signal: Signal) -> dict[str, Any]:
    return {
        "chart": chart.name,
        "rule": signal.rule,
        "at": chart.at[signal.at],
        "from": chart.at[signal.first],
        "to": chart.at[signal.last],
        "words": _words(signal),
    }


def _words(signal: Signal) -> str:
    rule = RULES[signal.rule]
    if rule.of == 1:
        return "Above the upper limit." if signal.above else "Below the lower limit."
    return f"{signal.last - signal.first + 1} in a row {'above' if signal.above else 'below'} the centre."


def _indices(study: Study) -> dict[str, Any]:
    found = study.indices
    return {
        "shown": found.shown,
        "why": found.why,
        "n": found.n,
        "df": found.df,
        "cp": found.cp,
        "cpk": found.cpk,
        "cpk_least": found.cpk_least,
        "pp": found.pp,
        "ppk": found.ppk,
        "ppk_least": found.ppk_least,
    }


def table_of(answer: dict[str, Any]) -> str:
    """The same facts for people."""
    sigma, tolerance = answer["sigma"], answer["tolerance"]
    digits = _decimals(sigma["within"] or sigma["overall"])
    parts = [
        _head(answer),
        columns(
            ("chart", "centre", "lower", "upper", "points"),
            [
                (c["name"], *_short(digits, c["centre"], c["lower"], c["upper"]), len(c["points"]))
                for c in answer["charts"]
            ],
        ),
        _sigma_words(sigma, digits),
        _listed("signals", ("chart", "rule", "at", "from", "words"), answer["signals"]),
        _listed("outside the tolerance", ("at", "value", "verdict"), tolerance["outside"]),
        _index_words(answer["indices"]),
        _listed("cautions", ("kind", "words"), answer["cautions"]),
        _listed("problems of the file", ("line", "kind", "words"), answer["problems"]),
        NO_RELEASE,
    ]
    return "\n\n".join(part for part in parts if part)


def _head(answer: dict[str, Any]) -> str:
    unit = f" [{answer['unit']}]" if answer["unit"] else ""
    groups = f" in {answer['subgroups']} subgroups" if answer["subgroups"] else ""
    frozen = f", limits from the first {answer['frozen']} points" if answer["frozen"] else ""
    trial = ", trial limits" if answer["trial"] else ""
    missing = f", {answer['missing']} missing" if answer["missing"] else ""
    return f"{answer['file']}: {answer['column']}{unit}, {answer['n']} readings{groups}{missing}{frozen}{trial}"


def _sigma_words(sigma: Mapping[str, Any], digits: int) -> str:
    within, overall = _short(digits, sigma["within"], sigma["overall"])
    worth = f"{sigma['df']:.1f} degrees of freedom"
    return f"sigma inside {within} ({sigma['how']}, worth {worth}), of all readings {overall}"


def _listed(title: str, keys: Sequence[str], rows: Sequence[Mapping[str, Any]]) -> str:
    if not rows:
        return "signals: none" if title == "signals" else ""
    return f"{title}:\n" + columns(keys, [[row[key] for key in keys] for row in rows])


def _index_words(found: Mapping[str, Any]) -> str:
    """Indices in words, each kind under its own name."""
    lines = [] if found["shown"] else [f"No Cp or Cpk. {found['why']}"]
    if found["cpk"] is not None:
        lines.append(
            f"capability (spread inside): {_both('Cp', found['cp'])}Cpk {found['cpk']:.3f}, "
            f"at least {found['cpk_least']:.3f} (95 %, n {found['n']}, {found['df']:.1f} degrees of freedom)"
        )
    if found["ppk"] is not None:
        steady = "" if found["shown"] else ", not shown steady"
        lines.append(
            f"performance (spread of all readings{steady}): {_both('Pp', found['pp'])}Ppk {found['ppk']:.3f}, "
            f"n {found['n']}"
        )
    return "\n".join(lines)


def _both(name: str, index: float | None) -> str:
    return "" if index is None else f"{name} {index:.3f}, "


def _decimals(sigma: float) -> int:
    """Decimals that show a sigma with four digits; more would claim what a sample can't know."""
    return max(0, 3 - floor(log10(sigma))) if sigma > 0 else 6


def _short(decimals: int, *numbers: float) -> list[str]:
    return [f"{number:.{decimals}f}" for number in numbers]
