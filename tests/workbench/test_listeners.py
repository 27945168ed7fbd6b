"""Pages told of what happens: at once what has happened, at a pace how far work is."""

from __future__ import annotations

import asyncio
import json
import threading

from embellish.workbench.listeners import Listeners


def heard(lines: list[str]) -> list[tuple[str, object]]:
    found = []
    for line in lines:
        kind, data = line.strip().split("\n")
        found.append((kind.removeprefix("event: "), json.loads(data.removeprefix("data: "))))
    return found


async def gathered(listeners: Listeners, deed: object, until: str) -> list[tuple[str, object]]:
    """Have a thread tell, and return what is heard up to an event."""
    queue = listeners.join()
    thread = threading.Thread(target=deed)  # type: ignore[arg-type]
    thread.start()
    lines: list[str] = []
    while not lines or f"event: {until}\n" not in lines[-1]:
        lines.append(await asyncio.wait_for(queue.get(), 30.0))
    thread.join()
    # What was held back must not come after all.
    await asyncio.sleep(0.3)
    while not queue.empty():
        lines.append(queue.get_nowait())
    listeners.leave(queue)
    return heard(lines)


def test_words_of_progress_do_not_come_after_what_they_led_to():
    listeners = Listeners()

    def work() -> None:
        for share in range(1000):
            listeners.progress("laying", share / 1000)
        listeners.tell("laid", {"number": 1})

    found = asyncio.run(gathered(listeners, work, "laid"))
    assert found[-1] == ("laid", {"number": 1})
    assert len(found) < 100  # not each of a thousand


def test_long_work_tells_its_newest_words():
    listeners = Listeners()
    ended = threading.Event()

    def work() -> None:
        listeners.progress("laying", 0.1)
        listeners.progress("laying", 0.2)
        ended.wait(1.0)
        listeners.tell("laid", {})

    found = asyncio.run(gathered(listeners, work, "laid"))
    assert found == [("progress", {"words": "laying", "share": 0.2}), ("laid", {})]


def test_nobody_hears_of_work_that_was_hushed():
    listeners = Listeners()

    def work() -> None:
        listeners.progress("making", 0.5)
        listeners.hush()
        listeners.tell("laid", {})

    assert asyncio.run(gathered(listeners, work, "laid")) == [("laid", {})]


def test_every_page_hears_and_one_that_left_does_not():
    listeners = Listeners()

    async def run() -> tuple[bool, bool]:
        here, gone = listeners.join(), listeners.join()
        assert len(listeners) == 2
        listeners.leave(gone)
        listeners.tell("state", {"number": 2})
        line = await asyncio.wait_for(here.get(), 30.0)
        return line.startswith("event: state\n"), gone.empty()

    assert asyncio.run(run()) == (True, True)
    assert len(listeners) == 1
