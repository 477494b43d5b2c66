"""A link that stands before a site; a slow one holds back what goes through, at a rate, as a poor Wi-Fi does."""

import asyncio
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Protocol, TypeVar
from urllib.parse import urlsplit

AnyLink = TypeVar("AnyLink", bound="Link")


@dataclass
class SlowLink:
    """Stands before a site on this machine; ``latency_s`` is there and back, ``rate`` one way. [s], [bytes/s]"""

    to: str
    latency_s: float = 0.0
    rate: float = 0.0
    url: str = ""

    async def carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """One connection: to make it takes the time there and back too."""
        await asyncio.sleep(self.latency_s)
        site = urlsplit(self.to)
        there, back = await asyncio.open_connection(site.hostname, site.port)
        try:
            with suppress(ConnectionError):
                await asyncio.gather(self._one_way(reader, back), self._one_way(there, writer))
        finally:
            writer.close()
            back.close()

    async def _one_way(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        loop, free_at, sent = asyncio.get_running_loop(), 0.0, asyncio.Queue()

        async def deliver() -> None:
            while (due := await sent.get()) is not None:
                at, piece = due
                await asyncio.sleep(max(0.0, at - loop.time()))
                writer.write(piece)
                await writer.drain()
            writer.close()

        delivering = asyncio.create_task(deliver())
        while piece := await reader.read(1024):
            free_at = max(free_at, loop.time()) + (len(piece) / self.rate if self.rate else 0.0)
            sent.put_nowait((free_at + self.latency_s / 2, piece))
        sent.put_nowait(None)
        await delivering


class Link(Protocol):
    """What stands before a site and carries each connection to it; ``url`` is where it is reached."""

    url: str

    async def carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None: ...


@contextmanager
def slow_link(to: str) -> Iterator[SlowLink]:
    """A link to a site, quick until it is told to be slow."""
    with standing(SlowLink(to)) as (link, _loop):
        yield link


@contextmanager
def standing(link: AnyLink) -> Iterator[tuple[AnyLink, asyncio.AbstractEventLoop]]:
    """A link that is reached, and the loop in which it carries."""
    loop, is_up = asyncio.new_event_loop(), threading.Event()
    servers: list[asyncio.Server] = []

    async def serve() -> None:
        servers.append(await asyncio.start_server(link.carry, "localhost"))
        link.url = f"http://localhost:{servers[0].sockets[0].getsockname()[1]}"
        is_up.set()

    def run() -> None:
        asyncio.set_event_loop(loop)
        loop.create_task(serve())
        loop.run_forever()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    is_up.wait()
    try:
        yield link, loop
    finally:
        asyncio.run_coroutine_threadsafe(_end_all(servers), loop).result()
        loop.call_soon_threadsafe(loop.stop)
        thread.join()
        loop.close()


async def _end_all(servers: list[asyncio.Server]) -> None:
    for server in servers:
        server.close()
    others = [task for task in asyncio.all_tasks() if task is not asyncio.current_task()]
    for task in others:
        task.cancel()
    await asyncio.gather(*others, return_exceptions=True)
