"""Recorder files read truly: delimiter, decimal mark, encoding, preamble and heading are found by looking."""

from .answer import facts_of, problems_of
from .joining import NotOneRecord, continuing, join_logs
from .log import Channel, Clock, Event, Kind, NotALog, Problem, RecorderLog
from .reader import DATE_ORDERS, read_log

__all__ = [
    "DATE_ORDERS",
    "Channel",
    "Clock",
    "Event",
    "Kind",
    "NotALog",
    "NotOneRecord",
    "Problem",
    "RecorderLog",
    "continuing",
    "facts_of",
    "join_logs",
    "problems_of",
    "read_log",
]
