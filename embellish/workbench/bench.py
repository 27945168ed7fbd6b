"""The workbench of one start: the folder it works in, the job on the desk, and who is listening."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from embellish.catalogue.piece import Piece
from embellish.catalogue.shipped import shipped_names
from embellish.errors import JobError
from embellish.job.fitting import What
from embellish.job.laying import Bedded
from embellish.job.making import Made
from embellish.job.partners import MadePair, made_job
from embellish.job.text.changes import AddTable, Change, RemoveTable, SetValue
from embellish.job.touching import EditStep, Touch, edit_that_adds, edits_of_touch
from embellish.job.trying import Tried, tried
from embellish.workbench.backing import photo_picture
from embellish.workbench.desk import Desk
from embellish.workbench.drawn import drawn_bytes
from embellish.workbench.facts import checked_facts, state_facts
from embellish.workbench.first_look import letters
from embellish.workbench.fits import Fits
from embellish.workbench.layer import Laid, Layer
from embellish.workbench.listeners import Listeners
from embellish.workbench.photo_place import photo_by_points, photo_by_width
from embellish.workbench.pictures import PictureUse, placed_picture
from embellish.workbench.sheets import Sheet, sheets_of
from embellish.workbench.sprites import sprite
from embellish.workbench.tray import tray_rows

_FETCHED_WITHIN_S: Final = 0.1
"""How long plans and checks wait for the page to have fetched the layout they are of."""


class Bench:
    """Everything the page can ask of, apart from how it is asked.

    Parameters
    ----------
    shelf
        The folder whose jobs can be opened, and where new ones are put.
    job
        The job to begin with, if any.

    Raises
    ------
    EmbellishError
        Where that job cannot be opened.
    """

    def __init__(self, shelf: Path, job: Path | None = None) -> None:
        self.shelf = shelf
        self.desk: Desk | None = None
        self._laid: Laid | None = None
        self._sheets: tuple[Laid, tuple[Sheet, ...]] | None = None
        self._asked = 0
        self._guard = threading.Lock()
        self.listeners = Listeners()
        self._drawn: bytes | None = None
        self._fetched = threading.Event()
        self._layer = Layer(self._told, self.listeners.progress)
        self.fits = Fits()
        if job is not None:
            self.open(job)

    # the job on the desk

    def open(self, path: Path) -> None:
        """Put another job on the desk; one that is there already stays."""
        if self.desk is not None and self.desk.path.absolute() == path.absolute():
            return
        desk = Desk(path, self._asked + 1)
        self.clear()
        self.desk = desk
        self._ask()

    def clear(self) -> None:
        """Take the job off the desk; it is all on disk."""
        if self.desk is not None:
            self.desk.close()
        self.desk = None
        with self._guard:
            self._laid = self._drawn = None

    def close(self) -> None:
        """End."""
        self.fits.stop()
        self._layer.close()
        self.clear()
        self.listeners.tell("closed", {})

    def state(self) -> dict[str, Any]:
        """Return what the page must know at once."""
        folder = {
            "jobs": self.jobs(),
            "catalogues": [f"shipped:{name}" for name in shipped_names()],
            "letters": letters(),
            "opened": self._opened(),
        }
        if self.desk is None:
            return {"number": 0, "job": None, "file": None, **folder}
        return {**state_facts(self.desk, self._laid), **folder}

    def jobs(self) -> list[str]:
        """Return the names of the jobs in the folder, and of those one folder further in."""
        return sorted(
            path.relative_to(self.shelf).as_posix()
            for pattern in ("*.toml", "*/*.toml")
            for path in self.shelf.glob(pattern)
            if not path.name.endswith((".kept.toml", ".delivered.toml")) and _is_job(path)
        )

    def _opened(self) -> str | None:
        """Return which of the folder's jobs is open, by its name there."""
        if self.desk is None:
            return None
        at, shelf = self.desk.path.absolute(), self.shelf.absolute()
        return at.relative_to(shelf).as_posix() if at.is_relative_to(shelf) else at.name

    def open_named(self, name: str) -> None:
        """Open one of the folder's jobs; the name is looked up, never used as a path.

        Raises
        ------
        EmbellishError
            Where there is none of this name, or it cannot be opened.
        """
        if name not in self.jobs():
            raise JobError(f"there is no job '{name}' in this folder")
        self.open(self.shelf / name)
        self.listeners.tell("state", self._brief())

    def change(self, changes: Iterable[Change], words: str) -> None:
        """Make changes to the job, as one step."""
        try:
            self._there().change(changes, words)
        finally:
            self._laid_anew()

    def go(self, by: int) -> None:
        """Undo (-1) or redo (1)."""
        try:
            self._there().go(by)
        finally:
            self._laid_anew()

    def put_back(self) -> str | None:
        """Put the last good state of the job on disk again; return what was there's new name."""
        aside = self._there().put_back()
        self._changed()
        return aside.name if aside else None

    def watch(self) -> None:
        """Look whether others have changed the job's file."""
        if self.desk is not None and self.desk.look():
            self._changed()

    # the layout

    def drawn(self) -> bytes | None:
        """Return what the newest layout is drawn with, None where there is none; at once."""
        self._fetched.set()
        return self._drawn

    def facts(self) -> dict[str, Any] | None:
        """Return what plans and checks found, None where they are still at work."""
        laid = self._laid
        if laid is None or laid.whole is None:
            return None
        return checked_facts(laid.whole, laid.number)

    def sprite(self, code: str, angle_deg: float) -> bytes | None:
        """Return the picture of a piece of the job's catalogues."""
        laid = self._laid
        if laid is None or laid.opened is None:
            return None
        piece = laid.opened.catalogue.pieces.get(code)
        cloth = laid.opened.job.cloth.colour
        return None if piece is None else sprite(_plain(piece), angle_deg, cloth)

    def photo(self) -> bytes | None:
        """Return what is seen of the garment's photo, None where the job has none."""
        laid = self._laid
        return None if laid is None else photo_picture(laid)

    def sheets(self) -> tuple[Sheet, ...] | None:
        """Return the sheets of the layout, None where plans are still at work."""
        laid = self._laid
        if laid is None or laid.checked is None:
            return None
        held = self._sheets
        if held is None or held[0] is not laid:
            held = self._sheets = (laid, sheets_of(laid.checked))
        return held[1]

    def set_picture(self, use: PictureUse, name: str, content: bytes) -> None:
        """Put a picture beside the job and have the job name it, as one step."""
        self.change(*placed_picture(self._there(), use, name, content))

    def place_photo(self, number: int, seen_mm: list[float], wanted_mm: list[float]) -> None:
        """Put the garment's photo where two of its points belong, as one step.

        Where no points are given it is placed by its width again.
        """
        laid = self._of(number)
        if seen_mm or wanted_mm:
            self.change(photo_by_points(laid, seen_mm, wanted_mm), "placed the photo")
        else:
            self.change(photo_by_width(laid), "placed the photo by its width")

    def tray(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """Return what the tray holds for a search."""
        opened = self._whole().opened
        assert opened is not None  # noqa: S101 - of what is whole
        return tray_rows(opened.catalogue, asked)

    # touching

    def touch(self, number: int, touch: Touch, words: str) -> None:
        """Do something to seats of a layout.

        Raises
        ------
        EmbellishError
            Where another layout is there by now, or it cannot be done.
        """
        laid = self._of(number)
        assert laid.opened is not None  # noqa: S101 - of what is whole
        steps = edits_of_touch(touch, _bed(laid), laid.opened.job, laid.opened.artwork)
        changes = [change for step in steps for change in _as_changes(step)]
        if changes:
            self.change(changes, words)

    def add_piece(
        self, number: int, lay: str, piece: str, xy_mm: tuple[float, float], angle_deg: float
    ) -> None:
        """Set one more piece by hand."""
        step = edit_that_adds(lay, piece, xy_mm, angle_deg, _bed(self._of(number)))
        self.change(_as_changes(step), f"added {piece}")

    def tried(
        self, number: int, rows: list[int], move_mm: tuple[float, float], turn: float, snap: float
    ) -> Tried:
        """Tell how seats would stand elsewhere."""
        bedded = _bed(self._of(number))
        n = len(bedded.layout)
        if not rows or min(rows) < 0 or max(rows) >= n:
            raise JobError("a seat in hand is not of this layout", mend="Choose the seats again.")
        return tried(bedded, np.array(rows), move_mm, turn, snap_within_mm=snap)

    # fitting

    def fit(self, number: int, what: What, most: str) -> dict[str, Any]:
        """Search gaps with which a state of the job keeps to a budget."""

        def told(words: str) -> None:
            self.listeners.progress(words, 0.0)

        try:
            return self.fits.find(self._of(number), what, most, told)
        finally:
            self.listeners.hush()

    def use_fit(self, number: int) -> None:
        """Give the job the gaps that were found, as one step.

        Raises
        ------
        EmbellishError
            Where the job is another by now.
        """
        self._of(number)
        self.change(*self.fits.changes(number))

    # making

    def make(self, *, anyway: bool) -> Made | MadePair:
        """Return every output of the job as it is now."""
        laid = self._whole()
        assert laid.opened is not None  # noqa: S101 - of what is whole

        def stage(words: str) -> Any:
            self.listeners.progress(words, 0.0)
            return lambda share: self.listeners.progress(words, share)

        try:
            return made_job(laid.opened, anyway=anyway, progress=stage)
        finally:
            self.listeners.hush()

    # within

    def _there(self) -> Desk:
        if self.desk is None:
            raise JobError("no job is open", mend="Open one, or begin with a drawing or a name.")
        return self.desk

    def _whole(self) -> Laid:
        self._there()
        laid = self._laid
        if laid is None or laid.bedded is None:
            raise JobError("the job is still being laid", mend="Try again in a moment.")
        return laid

    def _of(self, number: int) -> Laid:
        laid = self._whole()
        if laid.number != number or laid.draft:
            raise JobError("the layout has changed meanwhile", mend="Look, and do it again.")
        return laid

    def _changed(self) -> None:
        self._ask()
        self.listeners.tell("state", self._brief())

    def _laid_anew(self) -> None:
        """Have the job laid where it is another than was asked for last.

        Also where a change was refused: what others did to the file may have come in with it.
        """
        if self.desk is not None and self.desk.number != self._asked:
            self._changed()

    def _brief(self) -> dict[str, Any]:
        return {"number": self.desk.number if self.desk else 0}

    def _ask(self) -> None:
        if self.desk is not None:
            self._asked = self.desk.number
            self._fetched.set()
            self._layer.ask(self.desk.number, self.desk.path, self.desk.text)

    def _told(self, told: Laid) -> None:
        """Take what the layer has laid, in its thread."""
        new = told.bedded is not None and told.whole is None
        drawn = drawn_bytes(told) if new else None
        with self._guard:
            if self.desk is None or told.number != self.desk.number:
                return
            held = self._laid
            if told.wrong is not None and held is not None:
                # What stood before stays in sight, with the word why it is not of this state.
                told = replace(held, whole=None, wrong=told.wrong)
            self._laid = told
            self._drawn = drawn or self._drawn
        self._fetched.clear()
        kind = "checked" if told.checked or told.wrong else "laid"
        self.listeners.tell(kind, {"number": told.number, "draft": told.draft})
        if new and len(self.listeners):
            # What follows would take the machine from those who wait to see it.
            self._fetched.wait(_FETCHED_WITHIN_S)


def _bed(laid: Laid) -> Bedded:
    assert laid.bedded is not None  # noqa: S101 - of what is whole
    return laid.bedded


def _plain(piece: Piece) -> Piece:
    """Return a piece without what does not show, so that one picture serves all its lots."""
    return piece.model_copy(update={"packs": (), "stock": 0, "lot": "", "supplier": ""})


def _as_changes(step: EditStep) -> list[Change]:
    if step.number is None:
        return [AddTable(do="add", to="edit", table=step.table or {})]
    if step.table is None:
        return [RemoveTable(do="remove", of="edit", which=step.number)]
    return [
        SetValue(do="set", at=["edit", step.number, key], value=value)
        for key, value in step.table.items()
    ]


def _is_job(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(256 * 1024)
    except OSError:
        return False
    return b"[[lay]]" in head or b"[artwork]" in head
