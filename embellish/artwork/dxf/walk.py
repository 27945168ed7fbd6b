"""The entities of a DXF drawing as Bézier chains, blocks opened, with what was left out."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from embellish.arrays import Floats
from embellish.errors import ArtworkError
from embellish.formats.colours import as_hex
from embellish.geometry.curves import line_segments, quadratic_segments

MAX_ENTITIES: Final = 200_000
MAX_DEPTH: Final = 32
_ARC_PIECES: Final = 16
_LINES: Final = frozenset(
    {"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "SOLID", "TRACE"}
)
_FILLED: Final = frozenset({"HATCH", "MPOLYGON"})
_BLOCK_LAYER: Final = "0"
_BY_BLOCK: Final = 0
_BY_LAYER: Final = 256


@dataclass(frozen=True, eq=False)
class Drawn:
    """What one entity draws: chains (n, 4, 2) in file units, y up."""

    kind: str
    layer: str
    colour: str
    chains: tuple[Floats, ...]
    filled: bool


@dataclass
class Walk:
    """One walk through a document; what it left out is counted by kind."""

    document: Any
    left: Counter[str] = field(default_factory=Counter)
    hidden: Counter[str] = field(default_factory=Counter)
    broken: Counter[str] = field(default_factory=Counter)
    count: int = 0

    def drawn(self) -> Iterator[Drawn]:
        """Yield what the model space draws, in its order.

        Raises
        ------
        ArtworkError
            Beyond the caps.
        """
        for entity in self.document.modelspace():
            yield from self._of(entity, "", "#000000", ())

    def _of(self, entity: Any, layer: str, colour: str, blocks: tuple[str, ...]) -> Iterator[Drawn]:
        self.count += 1
        if self.count > MAX_ENTITIES:
            raise ArtworkError(
                f"it draws more than {MAX_ENTITIES:,} things",
                mend="Export only the layers that are wanted.",
            )
        kind = entity.dxftype()
        own = str(entity.dxf.get("layer", _BLOCK_LAYER))
        layer = layer if blocks and own == _BLOCK_LAYER else own
        if self._is_hidden(entity, layer):
            return
        colour = self._colour(entity, layer, colour)
        if kind == "INSERT":
            yield from self._block(entity, layer, colour, blocks)
        elif kind in _LINES or kind in _FILLED:
            chains = self._chains(entity, kind)
            if chains:
                yield Drawn(kind.lower(), layer, colour, chains, kind in _FILLED)
        else:
            self.left[kind] += 1

    def _is_hidden(self, entity: Any, layer: str) -> bool:
        known = self.document.layers
        row = known.get(layer) if known.has_entry(layer) else None
        if row is not None and (row.is_off() or row.is_frozen()):
            self.hidden[layer] += 1
            return True
        if entity.dxf.get("invisible", 0):
            self.hidden[layer] += 1
            return True
        return False

    def _block(
        self, insert: Any, layer: str, colour: str, blocks: tuple[str, ...]
    ) -> Iterator[Drawn]:
        name = str(insert.dxf.get("name", ""))
        if insert.block() is None or name in blocks or len(blocks) >= MAX_DEPTH:
            self.broken[f"block '{name}'"] += 1
            return
        if insert.mcount > MAX_ENTITIES:
            raise ArtworkError(
                f"it repeats block '{name}' {insert.mcount:,} times",
                mend="Explode or delete that block.",
            )
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            for entity in one.virtual_entities(skipped_entity_callback=self._skipped):
                yield from self._of(entity, layer, colour, (*blocks, name))

    def _skipped(self, entity: Any, _: str) -> None:
        self.left[entity.dxftype()] += 1

    def _chains(self, entity: Any, kind: str) -> tuple[Floats, ...]:
        import ezdxf.path as paths  # noqa: PLC0415 - an extra, loaded by now

        try:
            if kind in _FILLED:
                found = list(paths.from_hatch(entity))
            else:
                found = list(paths.make_path(entity, segments=_ARC_PIECES).sub_paths())
        except TypeError:
            self.left[kind] += 1
            return ()
        # A broken entity makes the library fail in any way there is; it is told.
        except Exception:  # noqa: BLE001
            self.broken[kind] += 1
            return ()
        chains = [_segments(path) for path in found]
        return tuple(chain for chain in chains if len(chain))

    def _colour(self, entity: Any, layer: str, block: str) -> str:
        index, true = int(entity.dxf.get("color", _BY_LAYER)), entity.dxf.get("true_color")
        if true is not None:
            return f"#{int(true) & 0xFFFFFF:06x}"
        if index == _BY_BLOCK:
            return block
        if index == _BY_LAYER:
            known = self.document.layers
            if not known.has_entry(layer):
                return "#000000"
            row = known.get(layer)
            if row.dxf.get("true_color") is not None:
                return f"#{int(row.dxf.true_color) & 0xFFFFFF:06x}"
            index = abs(int(row.dxf.get("color", 7)))
        return aci_hex(index)


def aci_hex(index: int) -> str:
    """Return an indexed colour; 7 is drawn black on paper and white on a black screen."""
    from ezdxf.colors import aci2rgb  # noqa: PLC0415 - an extra, loaded by now

    if index == 7 or not 1 <= index <= 255:
        return "#000000"
    return as_hex(*aci2rgb(index))


def _segments(path: Any) -> Floats:
    """Return a path of the library as cubics, those without length left out."""
    at = path.start
    rows: list[Floats] = []
    for command in path.commands():
        points = [
            at,
            *(getattr(command, n) for n in ("ctrl", "ctrl1", "ctrl2") if hasattr(command, n)),
            command.end,
        ]
        xy = np.array([[p.x, p.y] for p in points], dtype=np.float64)
        at = command.end
        if len(xy) == 4:
            row = xy[None]
        elif len(xy) == 3:
            row = quadratic_segments(xy[None])
        else:
            row = line_segments(xy)
        if np.ptp(row[0], axis=0).max() > 0.0 or not all(map(math.isfinite, xy.reshape(-1))):
            rows.append(row)
    return np.concatenate(rows) if rows else np.zeros((0, 4, 2))
