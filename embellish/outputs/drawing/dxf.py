"""A drawing as DXF: R2010, millimetres, y up, circles and polylines with bulges, equal bytes.

Fills and pictures have no place in a cutting file and are left out, which `lost_in_dxf` tells;
outlines are kept exactly, those of filled shapes too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import StringIO
from typing import Any, Final

import numpy as np

from embellish.formats.extras import extra
from embellish.outputs.colours import rgb
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Lines,
    Picture,
    Stamps,
    Words,
)

_MILLIMETRES: Final = 4


def dxf_bytes(drawing: Drawing) -> bytes:
    """Return the drawing as the bytes of one DXF file.

    Raises
    ------
    EmbellishError
        Where the library that writes DXF is not installed.
    """
    ezdxf = extra("ezdxf")
    with _fixed_meta_data(ezdxf.options):
        document = ezdxf.new("R2010", units=_MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        space = document.modelspace()
        writer = _Writer(document, drawing.height_mm)
        for layer in drawing.layers:
            if layer.id not in document.layers:
                document.layers.add(layer.id)
            for item in layer.items:
                writer.item(space, layer.id, item)
        corner = (drawing.width_mm, drawing.height_mm, 0.0)
        # The page, in the layout's own record and in the header that other programs read.
        space.reset_extents((0.0, 0.0, 0.0), corner)
        document.header["$EXTMIN"] = (0.0, 0.0, 0.0)
        document.header["$EXTMAX"] = corner
        space.reset_limits((0.0, 0.0), corner[:2])
        document.set_modelspace_vport(
            height=drawing.height_mm, center=(drawing.width_mm / 2.0, drawing.height_mm / 2.0)
        )
        # The library would register these in the order of a set, which differs from run to run.
        for name in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(name)
        file = StringIO()
        document.write(file)
    encoded: bytes = document.encode(file.getvalue())
    return encoded


def lost_in_dxf(drawing: Drawing) -> tuple[str, ...]:
    """Return in words what a drawing has and its DXF file has not."""
    lost: list[str] = []
    for item in (item for layer in drawing.layers for item in layer.items):
        match item:
            case Picture():
                lost.append("pictures")
            case Instances():
                lost += _fills(item.items)
            case Stamps():
                lost += _fills(part for picture in item.pictures for part in picture)
            case Circles() | Chains() | Lines() | Curves():
                lost += _fills([item])
    return tuple(dict.fromkeys(lost))


def _fills(items: Iterable[Circles | Chains | Lines | Curves]) -> list[str]:
    filled = any(item.style.fill is not None for item in items)
    return ["fills (their outlines are kept)"] if filled else []


@contextmanager
def _fixed_meta_data(options: Any) -> Iterator[None]:
    # The library's own switch for equal bytes: no dates, no fresh identifiers.
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


class _Writer:
    """Puts items into a layout or block; y' = height − y."""

    def __init__(self, document: Any, height_mm: float) -> None:
        self.document = document
        self.height_mm = height_mm

    def item(self, space: Any, layer: str, item: Item) -> None:
        match item:
            case Words():
                self._words(space, layer, item)
            case Instances():
                which = np.zeros(len(item.xy), dtype=np.int64)
                self._stamps(
                    space, layer, Stamps(item.name, (item.items,), which, item.xy, item.angle_deg)
                )
            case Stamps():
                self._stamps(space, layer, item)
            case Circles() | Chains() | Lines() | Curves():
                self._outlines(space, layer, item)
            case _:
                return

    def _outlines(self, space: Any, layer: str, item: Circles | Chains | Lines | Curves) -> None:
        attributes: dict[str, Any] = {"layer": layer}
        colour = item.style.stroke or item.style.fill
        if colour is not None:
            red, green, blue = rgb(colour)
            attributes["true_color"] = red << 16 | green << 8 | blue
        height = self.height_mm
        match item:
            case Circles():
                for (x, y), radius in zip(
                    item.xy.tolist(), np.asarray(item.radius_mm).tolist(), strict=True
                ):
                    space.add_circle((x, height - y), radius, dxfattribs=attributes)
            case Chains():
                for outline in item.outlines:
                    # Clockwise as seen is negative in DXF; turning y up keeps what is seen.
                    table = np.column_stack(
                        [outline.points[:, 0], height - outline.points[:, 1], -outline.bulges]
                    )
                    space.add_lwpolyline(
                        (table + 0.0).tolist(), format="xyb", close=True, dxfattribs=attributes
                    )
            case Lines():
                for line in item.lines:
                    table = np.asarray(line) * [1.0, -1.0] + [0.0, height]
                    space.add_lwpolyline(
                        table.tolist(), format="xy", close=item.closed, dxfattribs=attributes
                    )
            case Curves():
                for chain in item.chains:
                    self._spline(space, np.asarray(chain) * [1.0, -1.0] + [0.0, height], attributes)

    def _spline(self, space: Any, chain: np.ndarray[Any, Any], attributes: dict[str, Any]) -> None:
        # A cubic chain is a spline whose inner knots stand three deep: exact, not fitted.
        count = len(chain)
        controls = np.concatenate([chain[:1, 0], chain[:, 1:].reshape(-1, 2)])
        knots = [0.0, *np.repeat(np.arange(count + 1, dtype=np.float64), 3).tolist(), float(count)]
        spline = space.add_spline(degree=3, dxfattribs=attributes)
        spline.control_points = [(x, y, 0.0) for x, y in controls.tolist()]
        spline.knots = knots

    def _words(self, space: Any, layer: str, item: Words) -> None:
        from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415 - an extra, loaded by now

        red, green, blue = rgb(item.colour)
        text = space.add_text(
            item.text,
            height=item.height_mm,
            rotation=-item.angle_deg,
            dxfattribs={"layer": layer, "true_color": red << 16 | green << 8 | blue},
        )
        align = {
            "start": TextEntityAlignment.LEFT,
            "middle": TextEntityAlignment.CENTER,
            "end": TextEntityAlignment.RIGHT,
        }[item.anchor]
        text.set_placement((item.x_mm, self.height_mm - item.y_mm), align=align)

    def _stamps(self, space: Any, layer: str, item: Stamps) -> None:
        names = [f"{item.name}-{index}" for index in range(len(item.pictures))]
        small = _Writer(self.document, 0.0)
        for name, picture in zip(names, item.pictures, strict=True):
            block = self.document.blocks.new(name)
            for part in _visible(picture):
                small.item(block, layer, part)
        for index, (x, y), angle in zip(
            np.asarray(item.which).tolist(),
            item.xy.tolist(),
            np.asarray(item.angle_deg).tolist(),
            strict=True,
        ):
            space.add_blockref(
                names[index],
                (x, self.height_mm - y),
                dxfattribs={"layer": layer, "rotation": -angle},
            )


def _visible(picture: Sequence[Circles | Chains | Lines]) -> Iterator[Circles | Chains | Lines]:
    for part in picture:
        if part.style.fill is not None or part.style.stroke is not None:
            yield part
