"""A workbench started as a maker starts it, spoken to as its page speaks."""

from __future__ import annotations

import contextlib
import json
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import numpy as np

ROOT = Path(__file__).parents[2]
MOTH = ROOT / "demos" / "moth"


def put_moth(folder: Path) -> None:
    """Put the demo of the moth into a folder."""
    for name in ("moth.svg", "moth.toml"):
        shutil.copy(MOTH / name, folder)


class Started:
    """A running workbench."""

    def __init__(self, process: subprocess.Popen[str], address: str) -> None:
        self.process = process
        self.address = address
        self.origin = address.split("/?", maxsplit=1)[0]
        self.client = httpx.Client(
            base_url=self.origin, headers={"origin": self.origin}, timeout=30.0
        )
        self.client.get(address)

    def get(self, path: str) -> Any:
        answer = self.client.get(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.text)
        return answer.json()

    def drawing(self, path: str = "/api/layout") -> tuple[Any, dict[str, np.ndarray]]:
        """Return what a layout is drawn with: its facts, and its columns by name."""
        answer = self.client.get(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.text)
        data = answer.content
        head = np.frombuffer(data, "<i4", 8)
        assert head[0] == int.from_bytes(b"SEAT", "little")
        m, n, facts = (int(head[at]) for at in (3, 4, 6))
        at, found = 32, {}
        for name, kind, count in (
            *(("xy", "<f8", 2 * m), ("angle", "<f4", m), ("piece", "<i4", m), ("seat", "<i4", m)),
            *(("lay", "<i4", n), ("twin", "<i4", n), ("hand", "<i4", n)),
        ):
            found[name] = np.frombuffer(data, kind, count, at)
            at += found[name].nbytes
        assert at + facts == len(data)
        return json.loads(data[at:]), {**found, "xy": found["xy"].reshape(-1, 2)}

    def post(self, path: str, asked: dict[str, Any] | None = None) -> Any:
        answer = self.client.post(path, content=json.dumps(asked or {}))
        assert answer.status_code == 200, (path, answer.status_code, answer.text)
        return answer.json()

    def refused(self, path: str, asked: Any, status: int = 422) -> str:
        body = asked if isinstance(asked, bytes) else json.dumps(asked)
        answer = self.client.post(path, content=body)
        assert answer.status_code == status, answer.text
        return str(answer.json()["error"]["words"]) if status == 422 else answer.text

    def change(self, *changes: dict[str, Any], words: str = "") -> Any:
        return self.post("/api/changes", {"number": 1, "words": words, "changes": list(changes)})

    def checked(self) -> Any:
        """Wait until what the job is now has been laid and checked."""
        return self.state_with(lambda it: it["checked"] and it["laid"] == it["number"])

    def state_with(self, wanted: Callable[[Any], Any]) -> Any:
        """Wait until the job's state is as wanted."""
        until = time.monotonic() + 30.0
        while True:
            state = self.get("/api/state")
            if wanted(state):
                return state
            assert time.monotonic() < until, state
            time.sleep(0.02)


@contextlib.contextmanager
def bench(folder: Path, *words: str) -> Iterator[Started]:
    """Start a workbench in a folder, and end it."""
    command = [sys.executable, "-m", "embellish", "bench", *words, "--no-open", "--json"]
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    told = ""
    while not told.endswith("}\n"):
        line = process.stdout.readline()
        assert line, "the workbench ended"
        told += line
    started = Started(process, json.loads(told)["address"])
    try:
        yield started
    finally:
        started.client.close()
        process.terminate()
        process.wait(timeout=20)
        process.stdout.close()
