"""Which frames hold any part of a thing, and what else still holds it."""

from records.trace.management.tracing import Tracing
from records.trace.queries import Answer, Asked, where_used


class Command(Tracing):
    help = "List every frame that holds any part of a thing, and everything else that still holds it."
    name = "whereused"

    def trace(self, code: str, asked: Asked) -> Answer:
        return where_used(code, asked)
