"""Pages that are told what happens, as it happens."""

from __future__ import annotations

import asyncio
import json
import threading
from typing import Any, Final

_PACE_S: Final = 0.1
"""How long words of progress wait for newer ones: each would take time from what it tells of."""


class Listeners:
    """Queues of what happens, one a page; told from any thread."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._queues: set[tuple[asyncio.AbstractEventLoop, asyncio.Queue[str]]] = set()
        self._progress: dict[str, Any] | None = None
        self._due = False

    def __len__(self) -> int:
        return len(self._queues)

    def join(self) -> asyncio.Queue[str]:
        """Return a queue of what happens from now on, as lines of an event stream."""
        queue: asyncio.Queue[str] = asyncio.Queue(maxsize=1000)
        with self._guard:
            self._queues = self._queues | {(asyncio.get_running_loop(), queue)}
        return queue

    def leave(self, queue: asyncio.Queue[str]) -> None:
        """Stop listening."""
        with self._guard:
            self._queues = {each for each in self._queues if each[1] is not queue}

    def tell(self, kind: str, held: dict[str, Any]) -> None:
        """Tell what has happened; words of progress before it are no longer true."""
        self.hush()
        self._put(kind, held)

    def progress(self, words: str, share: float) -> None:
        """Tell how far work is, at a pace that a person can read: the newest words count."""
        with self._guard:
            self._progress = {"words": words, "share": share}
            loop = next((each[0] for each in self._queues), None)
            if self._due or loop is None:
                return
            self._due = True
        loop.call_soon_threadsafe(loop.call_later, _PACE_S, self._spoken)

    def hush(self) -> None:
        """Tell no progress of what has ended."""
        with self._guard:
            self._progress = None

    def _spoken(self) -> None:
        with self._guard:
            held, self._progress, self._due = self._progress, None, False
        if held is not None:
            self._put("progress", held)

    def _put(self, kind: str, held: dict[str, Any]) -> None:
        line = f"event: {kind}\ndata: {json.dumps(held)}\n\n"
        for loop, queue in self._queues:
            loop.call_soon_threadsafe(_add, queue, line)


def _add(queue: asyncio.Queue[str], line: str) -> None:
    """Add a line; a page that does not listen loses the oldest, and asks for the state anyway."""
    if queue.full():
        queue.get_nowait()
    queue.put_nowait(line)
