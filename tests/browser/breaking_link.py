"""A link that breaks: refused, silent, slow, or cut within the head or the body of an answer."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from random import Random
from urllib.parse import urlsplit

from tests.bench.slow_link import standing

WAYS = ("good", "refused", "silent", "slow", "cut in the head", "cut in the body")
# A poor Wi-Fi at the end of a hall: common practice, no source. [s], [bytes/s]
SLOW_S, SLOW_RATE = 0.7, 30_000
PIECE = 4096


@dataclass
class BreakingLink:
    """Stands before a site on this machine; ``way`` says what becomes of all that goes through it from now on."""

    to: str
    chance: Random
    way: str = "good"
    url: str = ""
    loop: asyncio.AbstractEventLoop | None = None
    _open: set[asyncio.StreamWriter] = field(default_factory=set)

    def turn(self, way: str) -> None:
        """From now on it is like this; what was silent until now breaks off."""
        self.way = way
        self.loop.call_soon_threadsafe(self._break_off)

    def _break_off(self) -> None:
        for writer in self._open:
            writer.transport.abort()

    async def carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if self.way == "refused":
            writer.transport.abort()
            return
        site = urlsplit(self.to)
        there, back = await asyncio.open_connection(site.hostname, site.port)
        self._open |= {writer, back}
        try:
            with suppress(OSError, asyncio.CancelledError):
                await asyncio.gather(self._ask(reader, back), self._answer(there, writer))
        finally:
            self._open -= {writer, back}
            writer.transport.abort() if self.way.startswith("cut") else writer.close()
            back.close()

    async def _ask(self, reader: asyncio.StreamReader, back: asyncio.StreamWriter) -> None:
        while piece := await reader.read(PIECE):
            back.write(piece)
            await back.drain()
        back.close()

    async def _answer(self, there: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        let_through = 0
        while piece := await there.read(PIECE):
            while self.way == "silent":
                await asyncio.sleep(0.1)
            if self.way == "slow":
                await asyncio.sleep(SLOW_S * (not let_through) + len(piece) / SLOW_RATE)
            if self.way.startswith("cut"):
                most = self.chance.randrange(1, 120 if self.way.endswith("head") else 3000)
                writer.write(piece[:most])
                await writer.drain()
                raise ConnectionError
            writer.write(piece)
            await writer.drain()
            let_through += len(piece)
        writer.close()


@contextmanager
def breaking_link(to: str, chance: Random) -> Iterator[BreakingLink]:
    """A link to a site, good until it is turned."""
    with standing(BreakingLink(to, chance)) as (link, loop):
        link.loop = loop
        yield link
