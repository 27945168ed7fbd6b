"""What a piece or a cloth stands in care, as its maker says; what is left out is not known.

The words are those of the care symbols of ISO 3758: washing, drying, ironing, professional care.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field


class Care(BaseModel):
    """Limits of care.

    Parameters
    ----------
    wash_c
        Warmest wash in °C; 0 for none at all.
    hand_wash
        Whether it is washed by hand only.
    tumble_dry, dry_clean
        Whether it may be.
    iron_c
        Hottest iron in °C; 0 for none at all.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    wash_c: Annotated[int, Field(ge=0, le=95)] | None = None
    hand_wash: bool | None = None
    tumble_dry: bool | None = None
    dry_clean: bool | None = None
    iron_c: Annotated[int, Field(ge=0, le=220)] | None = None

    @property
    def known(self) -> bool:
        """Whether anything is said."""
        return self != Care()

    @property
    def lines(self) -> tuple[str, ...]:
        """What a care card says, a line each."""
        found = []
        if self.wash_c == 0:
            found.append("Do not wash.")
        elif self.wash_c is not None:
            how = "by hand " if self.hand_wash else ""
            found.append(f"Wash {how}at {self.wash_c} °C at most, turned inside out.")
        elif self.hand_wash:
            found.append("Wash by hand, turned inside out.")
        if self.tumble_dry is not None:
            found.append("May be tumble dried." if self.tumble_dry else "Do not tumble dry.")
        if self.iron_c == 0:
            found.append("Do not iron.")
        elif self.iron_c is not None:
            found.append(f"Iron from the back at {self.iron_c} °C at most, never on the pieces.")
        if self.dry_clean is not None:
            found.append("May be dry cleaned." if self.dry_clean else "Do not dry clean.")
        return tuple(found)


def least_of(every: Iterable[Care]) -> Care:
    """Return what all of them stand: the strictest of each limit that anybody knows."""
    cares = list(every)
    wash = [care.wash_c for care in cares if care.wash_c is not None]
    iron = [care.iron_c for care in cares if care.iron_c is not None]
    return Care(
        wash_c=min(wash, default=None),
        hand_wash=True if any(care.hand_wash for care in cares) else None,
        tumble_dry=_all(care.tumble_dry for care in cares),
        dry_clean=_all(care.dry_clean for care in cares),
        iron_c=min(iron, default=None),
    )


def _all(said: Iterable[bool | None]) -> bool | None:
    """Return whether all who say anything allow it."""
    known = [each for each in said if each is not None]
    return all(known) if known else None
