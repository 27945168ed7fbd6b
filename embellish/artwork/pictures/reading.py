"""A picture as artwork: its patches of one colour as regions, their edges between its pixels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from PIL import Image

from embellish.artwork.artwork import Artwork, Path, Shape
from embellish.artwork.level_regions import regions_above
from embellish.artwork.pictures.fields import colour_fields, line_field
from embellish.artwork.pictures.palette import flat_places, palette_of, small_enough
from embellish.artwork.pictures.settings import PictureSettings
from embellish.errors import ArtworkError
from embellish.findings import Finding, counted
from embellish.formats.colours import as_hex
from embellish.formats.photos import read_photo
from embellish.geometry.curves import chain_area, line_segments
from embellish.geometry.transforms import Affine

_MOST_PX: Final = 4_000_000
_NOISE_PX2: Final = 6.0
"""Patches smaller than this are no more than noise, at any size."""

_SIMPLE_PX: Final = 0.12
_MOST_PATCHES: Final = 5_000


def read_picture(
    data: bytes, name: str, settings: PictureSettings | None = None
) -> tuple[Artwork, tuple[Finding, ...]]:
    """Trace a picture; its unit is its pixel, so that it has no size until one is given.

    Parameters
    ----------
    data
        The file's bytes: PNG or JPEG.
    name
        The file's name.
    settings
        How it is traced.

    Returns
    -------
    artwork, findings
        ``colour-N`` finds all patches of a colour, the one that covers most first; a patch is
        ``colour-N-part-K``, the largest first. Of a picture of lines, ``ink`` and ``ink-part-K``.

    Raises
    ------
    ArtworkError
        Where it cannot be read, or nothing stands out in it.
    """
    how = settings or PictureSettings()
    whole = read_photo(data, name).image
    small, step = small_enough(whole, _MOST_PX)
    found: list[Finding] = []
    if step > 1.0:
        found.append(_made_smaller(whole, small, name))
    pixels = np.asarray(small)
    if how.kind == "lines":
        shapes = list(_ink(pixels))
    else:
        shapes, told = _patches(pixels, how, name)
        found += told
    if not shapes:
        raise ArtworkError(
            "nothing stands out from the ground of this picture",
            file=name,
            mend="Use one with more contrast, give colours under [artwork.picture], or keep its"
            " ground with ground = true.",
        )
    if len(shapes) > _MOST_PATCHES:
        raise ArtworkError(
            f"this picture falls into {len(shapes)} patches",
            file=name,
            mend="Give fewer colours under [artwork.picture], or use a drawing with flat colours.",
        )
    grow = Affine.scale(step)
    grown = [shape.mapped(grow) for shape in shapes]
    colours = len({shape.fill for shape in grown})
    found.append(
        Finding(
            "picture-traced",
            "note",
            f"{name} was traced: {counted(len(grown), 'patch', 'patches')} of"
            f" {counted(colours, 'colour')}",
            mend="Look at them with look --picture; [artwork.picture] has the settings.",
        )
    )
    page = (float(whole.width), float(whole.height))
    return Artwork(tuple(grown), page, sized=False), tuple(found)


def _made_smaller(whole: Image.Image, small: Image.Image, name: str) -> Finding:
    return Finding(
        "picture-reduced",
        "note",
        f"{name} has {whole.width} × {whole.height} pixels and was traced at {small.width} ×"
        f" {small.height}",
        mend="That is fine enough for pieces; cut it to what is wanted for more.",
    )


def _patches(pixels: Any, how: PictureSettings, name: str) -> tuple[list[Shape], list[Finding]]:
    rgb, seen = pixels[..., :3], pixels[..., 3] >= 128
    flat = flat_places(rgb) & seen
    palette = palette_of(rgb, flat if flat.sum() * 20 >= seen.sum() else seen, how.colours)
    if not len(palette):
        return [], []
    fields = colour_fields(rgb, pixels[..., 3] / np.float32(255), flat, palette)
    told: list[Finding] = []
    ground = None if how.ground else _ground(fields, seen)
    if ground is not None:
        told.append(
            Finding(
                "picture-ground",
                "note",
                f"the ground of {name}, {as_hex(*palette[ground])}, is left out",
                mend="Keep it with ground = true under [artwork.picture].",
            )
        )
    shapes: list[Shape] = []
    kept = [k for k in range(len(palette)) if k != ground]
    for number, k in enumerate(kept, 1):
        shapes += _shapes(f"colour-{number}", as_hex(*palette[k]), fields[k])
    return shapes, told


def _ink(pixels: Any) -> Iterator[Shape]:
    over = pixels[..., 3:].astype(np.float64) / 255.0
    plain = pixels[..., :3] * over + 255.0 * (1.0 - over)
    grey = plain @ np.array([0.299, 0.587, 0.114])
    return _shapes("ink", "#000000", line_field(grey))


def _ground(fields: list[Any], seen: Any) -> int | None:
    """Return the colour that most of the picture's edge has, where it has edges of any."""
    edge = np.zeros(seen.shape, dtype=bool)
    edge[[0, -1], :] = edge[:, [0, -1]] = True
    if (edge & seen).sum() * 2 < edge.sum():
        return None  # it stands free already
    shares = [float(field[edge].mean()) for field in fields]
    best = int(np.argmax(shares))
    return best if shares[best] > 0.5 else None


def _shapes(group: str, colour: str, field: Any) -> Iterator[Shape]:
    parts = [each for each in regions_above(field, 0.5) if each.area >= _NOISE_PX2]
    parts.sort(key=lambda each: (-each.area, *each.bounds))
    for number, part in enumerate(parts, 1):
        rings = [r for r in shapely.get_rings(part) if shapely.Polygon(r).area >= _NOISE_PX2]
        edges = [shapely.get_coordinates(shapely.simplify(ring, _SIMPLE_PX)) for ring in rings]
        yield Shape(
            id=f"{group}-part-{number}",
            layer=group,
            classes=(group,),
            fill=colour,
            stroke=None,
            stroke_width_mm=0.0,
            fill_rule="evenodd",
            paths=tuple(Path(line_segments(edge), closed=True) for edge in edges),
            groups=(group,),
        )


def without_specks(artwork: Artwork, least_mm2: float) -> tuple[Artwork, tuple[Finding, ...]]:
    """Return a traced and sized picture without patches and holes smaller than an area.

    Parameters
    ----------
    artwork
        In millimetres.
    least_mm2
        What is smaller is dropped; how many, is told.
    """
    dropped = 0
    shapes: list[Shape] = []
    for shape in artwork.shapes:
        areas = [abs(chain_area(path.segments)) for path in shape.paths]
        if areas[0] < least_mm2:
            dropped += 1
            continue
        kept = tuple(
            path for path, area in zip(shape.paths, areas, strict=True) if area >= least_mm2
        )
        dropped += len(shape.paths) - len(kept)
        shapes.append(replace(shape, paths=kept) if len(kept) < len(shape.paths) else shape)
    if not dropped:
        return artwork, ()
    what = "patch or hole" if dropped == 1 else "patches and holes"
    told = Finding(
        "picture-specks",
        "note",
        f"{dropped} {what} smaller than {least_mm2:g} mm² dropped",
        mend="Lower specks_mm2 under [artwork.picture] to keep them.",
    )
    return replace(artwork, shapes=tuple(shapes)), (told,)
