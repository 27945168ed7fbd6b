"""Reading DXF: outlines and hatches, loose ends joined, and everything that was left out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Artwork, Path, Shape
from embellish.artwork.dxf.chains import chained
from embellish.artwork.dxf.file import MM_PER_DXF_UNIT, open_dxf
from embellish.artwork.dxf.walk import Drawn, Walk
from embellish.errors import ArtworkError
from embellish.findings import Finding, counted
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.transforms import Affine

GAP_MM: Final = 0.1
"""Ends this near were meant to meet: a cutter's own step is about this."""

_GAP_SHARE: Final = 1e-4
_MAX_COORDINATE_MM: Final = 1e7
_SAME: Final = 1e-7
_LOOSE: Final = 3


@dataclass(frozen=True)
class _Gap:
    width: float
    unit: str


def read_dxf(data: bytes, name: str) -> tuple[Artwork, tuple[Finding, ...]]:
    """Read a DXF drawing, text or binary.

    Returns
    -------
    Artwork
        Open lines are joined where their ends meet in one layer and colour. The page is the
        drawing's extents, y down; without $INSUNITS ``sized`` is False.
    tuple of Finding
        What was joined, left out or hidden.

    Raises
    ------
    ArtworkError
        For a file that is cut short or broken, one without shapes, or one beyond the caps.
    EmbellishError
        Where the library that reads DXF is not installed.
    """
    document = open_dxf(data, name)
    try:
        return _read(document)
    except ArtworkError as wrong:
        raise wrong.within(file=name) from wrong


def _read(document: object) -> tuple[Artwork, tuple[Finding, ...]]:
    walk = Walk(document)
    unit = int(walk.document.header.get("$INSUNITS", 0) or 0)
    factor = MM_PER_DXF_UNIT.get(unit)
    drawn = list(walk.drawn())
    told = _told(walk)
    if not drawn:
        what = " ".join(each.message for each in told)
        raise ArtworkError(
            "there is no shape in it", mend=what or "Draw or export at least one line."
        )
    every = np.concatenate([chain for one in drawn for chain in one.chains])
    if not np.all(np.abs(every) * (factor or 1.0) <= _MAX_COORDINATE_MM):
        raise ArtworkError(
            "it has coordinates that are not finite or beyond any garment",
            mend="Find the shape that stands far away, and delete it.",
        )
    x0, y0, x1, y1 = bezier_bounds(every)
    scale = factor or 1.0
    place = Affine.scale(scale, -scale) @ Affine.move(-x0, -y1)
    page = ((x1 - x0) * scale, (y1 - y0) * scale)
    gap = _Gap(GAP_MM, " mm") if factor else _Gap(_GAP_SHARE * max(page), " units")
    shapes = _shapes(drawn, place, gap, told)
    if factor is None:
        told.insert(
            0,
            Finding(
                "no-physical-size",
                "warning",
                f"The drawing does not say its unit ($INSUNITS is {unit}); in millimetres it would "
                f"be {page[0]:.2f} × {page[1]:.2f} mm.",
                mend="Give width_mm or scale in the job.",
            ),
        )
    whole = page if min(page) > 0.0 else None
    return Artwork(tuple(shapes), whole, sized=factor is not None), tuple(told)


def _shapes(drawn: list[Drawn], place: Affine, gap: _Gap, told: list[Finding]) -> list[Shape]:
    """Return the shapes in the order of their first entity."""
    found: list[tuple[int, str, Shape]] = []
    loose: dict[tuple[str, str], list[tuple[int, str, Floats]]] = {}
    for number, one in enumerate(drawn):
        chains = [place(chain) for chain in one.chains]
        if one.filled:
            paths = tuple(Path(_closed(chain), closed=True) for chain in chains)
            found.append((number, one.kind, _shape(one.layer, one.colour, paths, filled=True)))
            continue
        for chain in chains:
            if np.abs(chain[0, 0] - chain[-1, 3]).max() <= _SAME:
                path = Path(_closed(chain), closed=True)
                found.append((number, one.kind, _shape(one.layer, one.colour, (path,))))
            else:
                loose.setdefault((one.layer, one.colour), []).append((number, one.kind, chain))
    pieces = loops = twice = 0
    widest = 0.0
    for (layer, colour), group in loose.items():
        once = _once(group)
        twice += len(group) - len(once)
        chains_of, width = chained([chain for *_, chain in once], gap.width)
        widest = max(widest, width)
        for path, parts in chains_of:
            first = once[min(parts)]
            kind = ("loop" if path.closed else "chain") if len(parts) > 1 else first[1]
            pieces += len(parts) if len(parts) > 1 else 0
            loops += path.closed
            found.append((first[0], kind, _shape(layer, colour, (path,))))
    if pieces:
        told.append(
            Finding(
                "ends-joined",
                "note",
                f"{counted(pieces, 'loose line')} joined where their ends meet, "
                f"{counted(loops, 'closed loop')} made; the greatest gap bridged is "
                f"{widest:.4f}{gap.unit}.",
            )
        )
    if twice:
        told.append(
            Finding(
                "drawn-twice",
                "warning",
                f"{counted(twice, 'line')} drawn twice in one place: read once.",
            )
        )
    found.sort(key=lambda row: row[0])
    return _named(found)


def _once(group: list[tuple[int, str, Floats]]) -> list[tuple[int, str, Floats]]:
    """Return the lines without those that lie on another of them, either way round."""
    seen: set[bytes] = set()
    kept = []
    for row in group:
        whole = np.round(row[2], 6) + 0.0
        keys = whole.tobytes(), whole[::-1, ::-1].tobytes()
        if seen.isdisjoint(keys):
            kept.append(row)
        seen.add(keys[0])
    return kept


def _closed(chain: Floats) -> Floats:
    gap = chain[0, 0] - chain[-1, 3]
    if np.abs(gap).max() > _SAME:
        last, first = chain[-1, 3], chain[0, 0]
        bridge = [last, last + gap / 3.0, first - gap / 3.0, first]
        return np.concatenate([chain, np.array(bridge)[None]])
    whole = chain.copy()
    whole[-1, 3] = whole[0, 0]
    return whole


def _shape(layer: str, colour: str, paths: tuple[Path, ...], *, filled: bool = False) -> Shape:
    return Shape(
        id="",
        layer=layer,
        classes=(),
        fill=colour if filled else None,
        stroke=None if filled else colour,
        stroke_width_mm=0.0,
        fill_rule="evenodd",
        paths=paths,
    )


def _named(found: list[tuple[int, str, Shape]]) -> list[Shape]:
    numbers: Counter[str] = Counter()
    shapes = []
    for _, kind, shape in found:
        word = "polyline" if kind == "lwpolyline" else kind
        numbers[word] += 1
        shapes.append(
            Shape(
                id=f"{word}-{numbers[word]}",
                layer=shape.layer,
                classes=(),
                fill=shape.fill,
                stroke=shape.stroke,
                stroke_width_mm=0.0,
                fill_rule="evenodd",
                paths=shape.paths,
            )
        )
    return shapes


def _told(walk: Walk) -> list[Finding]:
    told = [
        Finding(
            "element-left-out",
            "warning",
            f"{count} × {kind}: left out, only lines, curves, blocks and hatches are read.",
            mend="Turn it into lines in the drawing program, if it is wanted.",
        )
        for kind, count in sorted(walk.left.items())
    ]
    told += [
        Finding(
            "hidden-layer",
            "note",
            f"{counted(count, 'thing')} not shown on layer '{layer}': left out.",
            mend="Turn the layer on in the drawing program, if it is wanted.",
        )
        for layer, count in sorted(walk.hidden.items())
    ]
    told += [
        Finding(
            "broken-entity",
            "warning",
            f"{count} × {kind}: broken, left out.",
            mend="Draw it anew.",
        )
        for kind, count in sorted(walk.broken.items())
    ]
    return told
