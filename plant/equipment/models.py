"""What work is done with: stations, tools, recorders, gauges and scales with their calibrations."""

from __future__ import annotations

from django.db import models

from records.ledger.patterns import Fact, StepsField, WordsField, whole


class Station(Fact):
    """A place of work."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80, blank=True, default="")
    kind = models.CharField(max_length=20, blank=True, default="")

    def __str__(self) -> str:
        return self.name or self.code


class Tool(Fact):
    """A tool that parts are made in or with."""

    class Kind(models.TextChoices):
        MANDREL = "mandrel", "mandrel"
        MOULD = "mould", "mould"
        INSERT_SET = "insert-set", "mould insert set"
        BLADDER = "bladder", "bladder"
        JIG = "jig", "jig"
        CUTTER = "cutter", "cutter"

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    cycles_allowed = models.IntegerField(null=True)

    def __str__(self) -> str:
        return self.code


class Recorder(Fact):
    """An instrument that writes log files."""

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=20, blank=True, default="")
    zone = models.CharField(max_length=64, blank=True, default="")

    def __str__(self) -> str:
        return self.code


class Gauge(Fact):
    """An instrument that a person reads: a gauge, or a scale when its kind says so."""

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=20, blank=True, default="")
    unit_kind = models.CharField(max_length=16, blank=True, default="")
    due_on = models.DateField(null=True)

    def __str__(self) -> str:
        return self.code


class Printer(Fact):
    """A printer of labels."""

    code = models.CharField(max_length=40, unique=True)

    def __str__(self) -> str:
        return self.code


class PrinterSetting(Fact):
    """How a printer is reached and what it prints on; the newest counts.

    ``address`` is its IPP address. ``stations`` are the places of work that use it, by code, one a row in
    ``PrinterStation``. ``is_gone`` takes it out of use.
    """

    printer = models.ForeignKey(Printer, models.PROTECT, related_name="settings")
    name = models.CharField(max_length=80, blank=True, default="")
    address = models.CharField(max_length=200)
    dots_an_inch = models.SmallIntegerField()
    is_gone = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.name or self.printer.code


class PrinterStation(Fact):
    """A station whose labels a printer prints, by one setting of it."""

    setting = models.ForeignKey(PrinterSetting, models.PROTECT, related_name="stations")
    station = models.ForeignKey(Station, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["setting", "station"], name="printer_station_once")]


class Calibration(Fact):
    """A gauge or scale was checked: what was found, what was left, how far it can be trusted and until when."""

    class Result(models.TextChoices):
        GOOD = "good", "good"
        OUT = "out", "out"

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="calibrations")
    done_at = models.DateTimeField()
    due_on = models.DateField(null=True)
    result = models.CharField(max_length=4, choices=Result)
    unit_kind = models.CharField(max_length=16, blank=True, default="")
    error = StepsField(null=True)  # reads too high by this; true = read - error
    error_written = models.CharField(max_length=40, blank=True, default="")
    left_error = StepsField(null=True)
    resolution = StepsField(null=True)
    expanded = StepsField(null=True)  # expanded uncertainty, k = 2
    smallest_load = StepsField(null=True)
    certificate = models.CharField(max_length=80, blank=True, default="")
    remark = WordsField(null=True)

    class Meta:
        constraints = whole("error", "left_error", "resolution", "expanded", "smallest_load", table="calibration")
        indexes = [models.Index(fields=["gauge", "done_at"], name="calibration_of_gauge")]
