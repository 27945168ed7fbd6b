"""The cloth of a job: what checks, cautions and pictures need to know of it, and its states.

A layout is laid for the finished garment lying relaxed. Where the cloth is set stretched on a
board, the places of the pieces are stretched with it, and the pieces are not.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from embellish.catalogue.care import Care, least_of
from embellish.catalogue.piece import Piece
from embellish.errors import UnfitError
from embellish.formats.fields import Colour
from embellish.geometry.transforms import Affine

StretchPercent = Annotated[float, Field(ge=0, le=300)]
BoardPercent = Annotated[float, Field(ge=-50, le=300)]
SetOn = Literal["flat", "board"]


@dataclass(frozen=True, slots=True)
class ClothState:
    """How far the cloth is drawn out, along the grain and across it; narrower below 0.

    Parameters
    ----------
    name
        How it comes about: lying flat, on the board, or as worn.
    along_percent, across_percent
        How much longer than relaxed.
    grain_deg
        Which way along runs, clockwise as seen from the layout's +x.
    """

    name: Literal["flat", "board", "worn"]
    along_percent: float = 0.0
    across_percent: float = 0.0
    grain_deg: float = 90.0

    @property
    def relaxed(self) -> bool:
        """Whether the cloth is as it lies by itself."""
        return not (self.along_percent or self.across_percent)

    @property
    def amounts(self) -> str:
        """Such as '20 % along, 5 % narrower across'."""
        each = ((self.along_percent, "along"), (self.across_percent, "across"))
        return ", ".join(
            f"{percent:g} % {way}" if percent > 0 else f"{-percent:g} % narrower {way}"
            for percent, way in each
            if percent
        )

    @property
    def words(self) -> str:
        """What templates, marks and charts of this state say."""
        if self.relaxed:
            return "FOR CLOTH LYING FLAT"
        return f"FOR CLOTH STRETCHED ON THE BOARD: {self.amounts.upper()}"

    def map(self, page_mm: tuple[float, float]) -> Affine:
        """Return the map from relaxed places to those in this state, about the page's centre."""
        x, y = page_mm[0] / 2.0, page_mm[1] / 2.0
        drawn = Affine.scale(1.0 + self.along_percent / 100.0, 1.0 + self.across_percent / 100.0)
        turned = Affine.turn(self.grain_deg) @ drawn @ Affine.turn(-self.grain_deg)
        return Affine.move(x, y) @ turned @ Affine.move(-x, -y)

    def facts(self, page_mm: tuple[float, float]) -> dict[str, Any]:
        """Return the state as the JSON files carry it."""
        return {
            "set": self.name,
            "along_percent": self.along_percent,
            "across_percent": self.across_percent,
            "grain_deg": self.grain_deg,
            "map": self.map(page_mm).as_list(),
        }


LYING_FLAT = ClothState("flat")


class ClothSettings(BaseModel):
    """``[cloth]`` of a job; what is left out is not known, and then nothing is claimed of it."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    fibre: Annotated[str, Field(max_length=80)] = ""
    """As the label says, such as ``cotton`` or ``polyester satin``."""
    colour: Colour = "#4a5568"
    """Of the cloth, for the proof."""
    nap: bool = False
    """Pile, velvet, terry: marks sink in, and a press flattens it."""
    sheer: bool = False
    """Marks and glue show through."""
    heals: bool = True
    """Whether needle holes close; false for leather, vinyl, coated cloth, tight satin."""
    heat_limit_c: Annotated[float, Field(gt=0, le=300)] | None = None
    """What the maker of the cloth allows; no limit is assumed where none is given."""
    weight_g_m2: Annotated[float, Field(gt=0, le=3000)] | None = None
    """What a square metre of it weighs."""
    care: Care = Care()
    """What it stands, as its label says."""
    grain_deg: Annotated[float, Field(ge=-360, le=360)] = 90.0
    """Which way 'along' runs on the finished layout, clockwise as seen; 0 is left to right, 90 up
    and down."""
    stretch_along_percent: StretchPercent = 0.0
    stretch_across_percent: StretchPercent = 0.0
    """How much it gives when worn, along the grain and across it."""
    narrows_percent: Annotated[float, Field(ge=0, le=50)] = 0.0
    """How much narrower it gets one way while it is stretched the other way as far as it gives."""
    set: SetOn = "flat"
    """Whether pieces are set on the cloth lying flat, or stretched on a board."""
    board_along_percent: BoardPercent = 0.0
    board_across_percent: BoardPercent = 0.0
    """How much it is stretched on the board; below 0 where it gets narrower that way."""

    @model_validator(mode="after")
    def _board(self) -> ClothSettings:
        amounts = self.board_along_percent or self.board_across_percent
        if self.set == "board" and not amounts:
            raise UnfitError(
                'set = "board" does not say how much the cloth is stretched there',
                "Add board_along_percent or board_across_percent.",
            )
        if self.set == "flat" and amounts:
            raise UnfitError(
                "board_along_percent and board_across_percent mean nothing for cloth lying flat",
                'Write set = "board", or leave them out.',
            )
        return self

    @property
    def bears_c(self) -> float | None:
        """How hot it may get: what its maker allows, else the iron its label allows; °C."""
        return self.care.iron_c if self.heat_limit_c is None else self.heat_limit_c

    @property
    def bears_words(self) -> str:
        """Whose limit that is, such as 'the cloth bears 110 °C'; empty where none is known."""
        if self.heat_limit_c is not None:
            return f"the cloth bears {self.heat_limit_c:g} °C"
        if self.care.iron_c is None:
            return ""
        iron = f"an iron of {self.care.iron_c} °C" if self.care.iron_c else "no iron"
        return f"the cloth's label allows {iron}"

    @property
    def as_set(self) -> ClothState:
        """The state in which pieces are set."""
        return ClothState(
            self.set, self.board_along_percent, self.board_across_percent, self.grain_deg
        )

    @property
    def as_worn(self) -> tuple[ClothState, ...]:
        """The states of wear: drawn out one way as far as it gives, and narrower the other way."""
        along, across, less = (
            self.stretch_along_percent,
            self.stretch_across_percent,
            -self.narrows_percent,
        )
        states = []
        if along:
            states.append(ClothState("worn", along, less, self.grain_deg))
        if across:
            states.append(ClothState("worn", less, across, self.grain_deg))
        return tuple(states)

    @property
    def narrowing(self) -> float:
        """The greatest share by which it gets narrower in any of these states."""
        states = (self.as_set, *self.as_worn)
        return max(-min(each.along_percent, each.across_percent, 0.0) for each in states) / 100.0

    @property
    def gives(self) -> bool:
        """Whether it stretches at all, so that outputs must say which state they are for."""
        return bool(self.stretch_along_percent or self.stretch_across_percent) or self.set != "flat"

    @property
    def state_words(self) -> str:
        """What templates, marks and charts say; nothing of cloth that does not give."""
        return self.as_set.words if self.gives else ""


def care_of(cloth: ClothSettings, pieces: Iterable[Piece]) -> Care:
    """Return what a cloth stands with pieces on it."""
    return least_of([cloth.care, *(piece.care for piece in pieces)])
