"""Programs that are kept running: one that ends is started again, until it ends too often."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections import deque
from collections.abc import Sequence

from installing import BASE, hear_and_follow

OFTEN, WITHIN_S = 5, 60
PAUSE_S = 1


class Kept:
    """A program that is started again whenever it ends by itself."""

    def __init__(self, name: str, command: Sequence[str], *, reload: signal.Signals) -> None:
        self.name = name
        self._command = list(command)
        self._reload = reload
        self._ended: deque[float] = deque(maxlen=OFTEN)
        self._awaited = False  # its end was asked for
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it; it hears no Ctrl-C of the terminal, so that it is ended in order."""
        self._awaited = False
        self._process = subprocess.Popen(
            self._command, cwd=BASE, stdin=subprocess.DEVNULL, start_new_session=True, preexec_fn=hear_and_follow
        )

    def look_after(self) -> bool:
        """Start it again when it has ended; False when it ended too often."""
        assert self._process is not None
        code = self._process.poll()
        if code is None:
            return True
        if not self._awaited:
            self._ended.append(time.monotonic())
            if len(self._ended) == OFTEN and self._ended[-1] - self._ended[0] < WITHIN_S:
                print(f"The {self.name} ended {OFTEN} times in a minute; the lines above say why.", file=sys.stderr)
                return False
            print(f"The {self.name} ended ({code}) and is started again.", file=sys.stderr, flush=True)
            time.sleep(PAUSE_S)
        self.start()
        return True

    def take_up_changes(self) -> None:
        """Let it go on with the program as it stands on the disk now, without turning anybody away."""
        self._awaited = True
        self._tell(self._reload)

    def end(self, patience_s: float) -> None:
        """End it in order: requests and tasks under way are done first; after the patience for good."""
        assert self._process is not None
        self._tell(signal.SIGTERM)
        try:
            self._process.wait(patience_s)
        except subprocess.TimeoutExpired:
            self._tell(signal.SIGKILL)
            self._process.wait()

    def _tell(self, number: signal.Signals) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.send_signal(number)
