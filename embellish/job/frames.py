"""Frames: shapes that a partner does not mirror, since they must read right on both sides.

Everything is laid in artwork scale and mirrored last. A group of shapes that reads right is laid
as it is drawn, then mirrored about its own middle: mirrored once more with all the rest, it stands
unmirrored at the mirrored place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from embellish.arrays import Ints
from embellish.artwork.artwork import Artwork, Shape
from embellish.artwork.selecting import select
from embellish.errors import EmbellishError
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.transforms import IDENTITY, Affine
from embellish.layout.layout import Layout
from embellish.layout.ranked import Ranked
from embellish.layout.ways.way import Ground


@dataclass(frozen=True, eq=False)
class Frames:
    """Which shapes stand in a frame of their own, and how that maps to the artwork.

    Parameters
    ----------
    group : array of shape (k,)
        Of each of the artwork's shapes its group, 0 for all that are mirrored like the rest.
    maps
        Of each group its map, the identity for group 0; each undoes itself.
    """

    group: Ints
    maps: tuple[Affine, ...]

    @classmethod
    def none(cls, artwork: Artwork) -> Frames:
        """Return one frame for all shapes."""
        return cls(np.zeros(len(artwork.shapes), dtype=np.int64), (IDENTITY,))

    @classmethod
    def reading_right(
        cls, artwork: Artwork, selectors: tuple[str, ...], to_layout: Affine, *, mirrored: bool
    ) -> Frames:
        """Return the frames of groups that read right, each a selector's shapes together.

        Parameters
        ----------
        to_layout
            Where the job puts the artwork.
        mirrored
            Whether this is the side that is mirrored; on the other the groups stand as drawn, and
            are only laid apart from the rest alike.

        Raises
        ------
        ArtworkError
            For a selector that finds nothing.
        """
        group = np.zeros(len(artwork.shapes), dtype=np.int64)
        maps = [IDENTITY]
        index = {id(shape): k for k, shape in enumerate(artwork.shapes)}
        for selector in selectors:
            try:
                found = select(artwork, selector)
            except EmbellishError as wrong:
                raise wrong.within(item="partner") from wrong
            new = [index[id(shape)] for shape in found if group[index[id(shape)]] == 0]
            if not new:
                continue
            group[new] = len(maps)
            middle = _middle_x(tuple(found), to_layout)
            about = to_layout.inverse() @ Affine.mirror_x(middle) @ to_layout
            maps.append(about if mirrored else IDENTITY)
        return cls(group, tuple(maps))

    def parts(self, of_shapes: Ints) -> Iterator[tuple[Affine, Ints]]:
        """Yield the map of each group among some shapes, and which of these are in it."""
        groups = self.group[of_shapes]
        for number in np.unique(groups).tolist():
            yield self.maps[number], np.flatnonzero(groups == number)

    def placed(self, layout: Layout) -> Layout:
        """Return a layout whose seats in frames of their own stand where they belong."""
        xy, angle = layout.xy.copy(), layout.angle_deg.copy()
        has = layout.shape >= 0
        for number, affine in enumerate(self.maps):
            if affine == IDENTITY:
                continue
            rows = np.flatnonzero(has & (self.group[layout.shape] == number))
            moved = layout.taken(rows).mapped(affine)
            xy[rows], angle[rows] = moved.xy, moved.angle_deg
        return replace(layout, xy=xy, angle_deg=angle)

    def placed_shapes(self, artwork: Artwork) -> tuple[Shape, ...]:
        """Return the artwork's shapes where they belong."""
        return tuple(
            shape if self.maps[number] == IDENTITY else shape.mapped(self.maps[number])
            for shape, number in zip(artwork.shapes, self.group.tolist(), strict=True)
        )


def placed(frames: Frames, ranked: Ranked) -> Ranked:
    """Return seats where they belong."""
    return replace(ranked, layout=frames.placed(ranked.layout))


def seen_from(affine: Affine, ground: Ground) -> Ground:
    """Return a ground as it is seen from a frame: what stands and is kept out there, mapped."""
    if affine == IDENTITY:
        return ground
    there = ground.occupied
    angle = np.mod(affine.turned_deg(there.angle_deg), 360.0)
    return replace(
        ground,
        occupied=replace(there, xy=affine(there.xy), angle_deg=angle),
        keep_out=None if ground.keep_out is None else _mapped(ground.keep_out, affine),
        to_set=ground.to_set.seen_through(affine),
        as_laid=False,
    )


def _mapped(geometry: BaseGeometry, affine: Affine) -> BaseGeometry:
    a, b, c, d, e, f = affine.as_list()
    return affine_transform(geometry, [a, c, b, d, e, f])


def _middle_x(shapes: tuple[Shape, ...], to_layout: Affine) -> float:
    chains = [path.segments for shape in shapes for path in shape.paths]
    x0, _, x1, _ = bezier_bounds(to_layout(np.concatenate(chains)))
    return (x0 + x1) / 2.0
