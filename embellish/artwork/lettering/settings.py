"""``[[lettering]]``: words set in a font, as shapes that pieces can go on."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from embellish.errors import UnfitError
from embellish.formats.value_words import shown

Beyond = Literal["tighten", "smaller", "two-lines"]
PlaceMm = Annotated[float, Field(ge=-100_000, le=100_000)]


def _word(value: str) -> str:
    if re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]{0,39}", value):
        return value
    raise UnfitError(
        f"an id is one short word of letters, digits, - and _, not {shown(value)}",
        'Write a word such as id = "name".',
    )


def _text(value: str) -> str:
    if not value.strip():
        raise UnfitError("there is no letter in it", "Write the words to set.")
    wrong = next((c for c in value if not c.isprintable() and c != "\n"), None)
    if wrong is not None:
        raise UnfitError(
            f"it holds a sign that is no letter ({wrong!a})",
            "Write plain words; a line break is \\n.",
        )
    return value


class LetteringSettings(BaseModel):
    """One text and how it is set."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    id: Annotated[str, AfterValidator(_word)] = "name"
    """Shapes are ``ID-1``, ``ID-2`` … a letter; ``#ID`` finds all, ``#ID-line-1`` a line."""
    text: Annotated[str, Field(min_length=1, max_length=500), AfterValidator(_text)]
    font: Annotated[str, Field(min_length=1)]
    """A font file beside the job, or ``single-line:NAME``."""
    cap_height_mm: Annotated[float, Field(gt=0, le=2000)]
    """Height of a capital H."""
    at_mm: tuple[PlaceMm, PlaceMm] = (0.0, 0.0)
    """Where the first baseline begins, is centred or ends, on the page."""
    align: Literal["left", "centre", "right"] = "left"
    letter_gap_mm: Annotated[float, Field(ge=-100, le=1000)] = 0.0
    """More, or less, room between letters than the font gives."""
    line_step_mm: Annotated[float, Field(gt=0, le=10_000)] | None = None
    """From baseline to baseline; 1.7 capitals where it is not given."""
    arc_mm: Annotated[float, Field(ge=-100_000, le=100_000)] = 0.0
    """Radius of a circle that the baseline follows: above 0 it arches up, below 0 it hangs."""
    along: Annotated[str, Field(min_length=1)] | None = None
    """Selector of one line of the drawing that the baseline follows."""
    kerning: bool = True
    ligatures: bool = True
    features: tuple[Annotated[str, Field(pattern=r"^[a-z0-9]{4}$")], ...] = ()
    """OpenType features to switch on, such as ``ss01``."""
    unite: bool = True
    """Whether letters that overlap, as in a script, become one shape."""
    most_width_mm: Annotated[float, Field(gt=0, le=100_000)] | None = None
    """The words may not be wider than this."""
    beyond: tuple[Beyond, ...] = ("tighten", "smaller")
    """What to do when they are, in this order, until they fit."""
    least_cap_height_mm: Annotated[float, Field(gt=0, le=2000)] | None = None
    """Letters are made no smaller; 0.6 of the cap height where it is not given."""

    @model_validator(mode="after")
    def _one_baseline(self) -> LetteringSettings:
        if self.arc_mm and self.along is not None:
            raise UnfitError("arc_mm and along are both given", "Keep one of them.")
        if self.along is not None and "\n" in self.text:
            raise UnfitError(
                "words along a line of the drawing are one line of text",
                "Give each line of text a [[lettering]] of its own.",
            )
        if 0.0 < abs(self.arc_mm) < self.cap_height_mm:
            raise UnfitError(
                "the circle of arc_mm is smaller than the letters", "Give a larger radius."
            )
        least = self.least_cap_height_mm
        if least is not None and least > self.cap_height_mm:
            raise UnfitError(
                "least_cap_height_mm is above cap_height_mm", "Write the smaller of the two."
            )
        return self
