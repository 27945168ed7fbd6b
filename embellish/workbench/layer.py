"""Laying beside the answering of requests: always the newest state, an older one given up."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from embellish.errors import EmbellishError
from embellish.job.drafting import drafted
from embellish.job.files import OpenJob, open_text
from embellish.job.lay_memory import LayMemory
from embellish.job.laying import Bedded, lay_job
from embellish.job.making import Checked, check_job, checked_bed
from embellish.job.partners import CheckedPair, drawn_of, in_pair, paired
from embellish.layout.ways.way import Progress

_DRAFT_FROM: Final = 800
"""Seats from which a job that settles or searches is shown as a draft first."""


@dataclass(frozen=True, eq=False)
class Laid:
    """A layout that came of a state of the job.

    ``whole`` is there once its plans and checks are, of a pair those of both sides; ``wrong``
    where it could not be laid.
    """

    number: int
    opened: OpenJob | None = None
    bedded: Bedded | None = None
    draft: bool = False
    whole: Checked | CheckedPair | None = None
    wrong: EmbellishError | None = None

    @property
    def checked(self) -> Checked | None:
        """What is shown of it, of a pair the side that is drawn."""
        return None if self.whole is None else drawn_of(self.whole)


class _StaleError(Exception):
    """A newer state of the job has come."""


Told = Callable[[Laid], None]


class Layer:
    """One thread that lays what it is asked last.

    Parameters
    ----------
    told
        Called, from that thread, with each layout: a draft, the final one, the checked one.
    progress
        Called, from that thread, with words and the share that is done.
    """

    def __init__(self, told: Told, progress: Callable[[str, float], None]) -> None:
        self._told = told
        self._progress = progress
        self._memory = LayMemory()
        self._news = threading.Condition()
        self._wanted: tuple[int, Path, str] | None = None
        self._newest = 0
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="layer", daemon=True)
        self._thread.start()

    def ask(self, number: int, path: Path, text: str) -> None:
        """Have a state of the job laid; what is being laid of older ones is given up."""
        with self._news:
            self._wanted = (number, path, text)
            self._newest = number
            self._news.notify()

    def close(self) -> None:
        """End the thread as soon as it may."""
        with self._news:
            self._closed = True
            self._newest = -1
            self._news.notify()

    def _run(self) -> None:
        while True:
            with self._news:
                self._news.wait_for(lambda: self._closed or self._wanted is not None)
                if self._closed:
                    return
                wanted, self._wanted = self._wanted, None
            assert wanted is not None  # noqa: S101 - that is what was waited for
            try:
                self._lay(*wanted)
            except _StaleError:
                continue
            except EmbellishError as wrong:
                self._told(Laid(wanted[0], wrong=wrong))
            except Exception as fault:  # noqa: BLE001 - the page must hear of it, and go on
                told = EmbellishError(
                    f"this is a fault of embellish, not of your job: {fault!r}",
                    mend="Undo the last step, and please report it.",
                )
                self._told(Laid(wanted[0], wrong=told))

    def _lay(self, number: int, path: Path, text: str) -> None:
        stage = self._stages(number)
        opened = open_text(path, text.encode())
        draft = None if opened.kept is not None else drafted(opened.job)
        if draft is not None:
            # How many there will be is known by the draft, which costs little where they are few.
            bedded = lay_job(draft, opened.artwork, opened.catalogue, stage, memory=self._memory)
            if len(bedded.layout) >= _DRAFT_FROM:
                self._told(Laid(number, opened, bedded, draft=True))
        try:
            bedded = lay_job(
                opened.job,
                opened.artwork,
                opened.catalogue,
                stage,
                kept=opened.kept,
                memory=self._memory,
            )
        except EmbellishError as wrong:
            raise wrong.within(file=str(path)) from wrong
        self._told(Laid(number, opened, bedded))
        sides = in_pair(opened)
        drawn = next(side for side in sides if not side.mirrored)
        checked = checked_bed(drawn, bedded, stage)
        whole: Checked | CheckedPair = checked
        if len(sides) > 1:
            whole = paired([checked if side is drawn else check_job(side, stage) for side in sides])
        self._told(Laid(number, opened, bedded, whole=whole))

    def _stages(self, number: int) -> Callable[[str], Progress]:
        def stage(words: str) -> Progress:
            def tell(share: float) -> None:
                if self._newest != number:
                    raise _StaleError
                self._progress(words, share)

            tell(0.0)
            return tell

        return stage
