"""Rows of equipment; each function takes the open act."""

from __future__ import annotations

from datetime import date

from django.db import models

from plant.codes import fold
from records.ledger.acts import Act
from records.ledger.refusals import Refused

from .models import Gauge, Printer, Recorder, Station, Tool


def _free(model: type[models.Model], code: str) -> str:
    if model._default_manager.filter(code__iexact=code.strip()).exists():
        raise Refused("code-taken", "%(code)s is taken. Use another one.", code=code.strip())
    return code.strip()


def write_station(a: Act, code: str, name: str = "", kind: str = "") -> Station:
    """A station. Its code keeps the case it is written in: stations are often named, not numbered."""
    return a.write(Station(code=_free(Station, code), name=name, kind=kind))


def write_tool(a: Act, code: str, kind: str, cycles_allowed: int | None = None) -> Tool:
    """A tool."""
    return a.write(Tool(code=_free(Tool, fold(code)), kind=kind, cycles_allowed=cycles_allowed))


def write_recorder(a: Act, code: str, kind: str = "", zone: str = "") -> Recorder:
    """A recorder."""
    return a.write(Recorder(code=_free(Recorder, fold(code)), kind=kind, zone=zone))


def write_gauge(a: Act, code: str, kind: str = "", unit_kind: str = "", due_on: date | None = None) -> Gauge:
    """A gauge or scale."""
    return a.write(Gauge(code=_free(Gauge, fold(code)), kind=kind, unit_kind=unit_kind, due_on=due_on))


def write_printer(a: Act, code: str) -> Printer:
    """A printer of labels."""
    return a.write(Printer(code=_free(Printer, fold(code))))
