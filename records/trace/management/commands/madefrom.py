"""What a thing is made from."""

from records.trace.management.tracing import Tracing
from records.trace.queries import Answer, Asked, made_from


class Command(Tracing):
    help = "List everything that a thing is made from."
    name = "madefrom"

    def trace(self, code: str, asked: Asked) -> Answer:
        return made_from(code, asked)
