"""Recorder files read truly: delimiter, decimal mark, encoding, preamble and heading are found by looking."""

from .answer import facts_of, problems_of
from .log import Channel, Clock, Event, Kind, NotALog, Problem, RecorderLog
from .reader import DATE_ORDERS, read_log

__all__ = [
    "DATE_ORDERS",
    "Channel",
    "Clock",
    "Event",
    "Kind",
    "NotALog",
    "Problem",
    "RecorderLog",
    "facts_of",
    "problems_of",
    "read_log",
]
