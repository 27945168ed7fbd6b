"""The title block: the words that tie every output to one job, revision and layout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What every proof, quote, template, mark picture and chart carries.

    Parameters
    ----------
    title, revision, size
        As the job has them; size is '' where there is only one.
    fingerprint
        Short hex name of the layout: the same layout has the same one.
    side
        'LEFT' or 'RIGHT' for the parts of a pair.
    stop
        Set where an error stands, such as 'NOT TO BE CUT'; printed large, outside the cut layer.
    state
        Which state of a cloth that gives it is for, such as 'FOR CLOTH LYING FLAT'.
    """

    title: str
    revision: str
    fingerprint: str
    size: str = ""
    side: Literal["", "LEFT", "RIGHT"] = ""
    stop: str = ""
    state: str = ""

    @property
    def words(self) -> str:
        """One line: title, size, side, revision and fingerprint."""
        parts = [self.title]
        if self.size:
            parts.append(f"size {self.size}")
        if self.side:
            parts.append(self.side)
        if self.revision:
            parts.append(f"rev. {self.revision}")
        parts.append(f"layout {self.fingerprint}")
        return " · ".join(parts)
