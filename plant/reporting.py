"""How the program writes its log: what went wrong and where, without the values that people typed."""

import logging
import re

# PostgreSQL tells the row that it refused, and drivers repeat it: a badge or a name may stand in it.
VALUES = re.compile(r"^(?:DETAIL|CONTEXT):.*$|\b(Key \([^)]*\))=\(.*?\)", re.MULTILINE)


class Nameless(logging.Formatter):
    """Level, origin and words on the first line, a traceback below; the journal adds the time.

    >>> VALUES.sub(withheld, "DETAIL:  Failing row contains (7, Anna).")
    '(values left out)'
    """

    def __init__(self) -> None:
        super().__init__("%(levelname)s %(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        return VALUES.sub(withheld, super().format(record))


def withheld(found: re.Match[str]) -> str:
    """What stands in the place of values."""
    return f"{found[1]}=(left out)" if found[1] else "(values left out)"
