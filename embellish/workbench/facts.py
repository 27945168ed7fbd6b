"""What the page shows beside the picture: counts, cost, findings, shapes, pieces, steps of work."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np

from embellish.arrays import Floats
from embellish.artwork.artwork import Shape
from embellish.catalogue.piece import Piece
from embellish.errors import JobError
from embellish.findings import Finding
from embellish.formats.tables import parsed_toml
from embellish.job.comparing import figures_of
from embellish.job.laying import Bedded
from embellish.job.making import Checked
from embellish.job.partners import CheckedPair, drawn_of, sides_of
from embellish.outputs.marks_picture import field_ring
from embellish.outputs.materials import materials_json
from embellish.outputs.quote import quote_json
from embellish.outputs.symbols import symbols
from embellish.plans.stitching.base import runs_of
from embellish.plans.stitching.stitch import Hooping, StitchPlan
from embellish.workbench.backing import photo_facts
from embellish.workbench.desk import Desk
from embellish.workbench.layer import Laid
from embellish.workbench.plain_words import shown
from embellish.workbench.sprites import sprite_half_mm


def state_facts(desk: Desk, laid: Laid | None) -> dict[str, Any]:
    """Return what the page must know at once: the job, its steps, and which layout there is."""
    return {
        "number": desk.number,
        "file": desk.path.name,
        "job": parsed_toml(desk.text.encode(), desk.path.name, JobError),
        "back": desk.back,
        "forth": desk.forth,
        "trouble": None if desk.trouble is None else desk.trouble.as_json(),
        "laid": None if laid is None or laid.bedded is None else laid.number,
        "draft": bool(laid and laid.draft),
        "checked": bool(laid and laid.checked),
        "wrong": shown(laid.wrong) if laid and laid.wrong else None,
        "kept": bool(laid and laid.opened and laid.opened.kept),
    }


def layout_facts(laid: Laid) -> dict[str, Any]:
    """Return what the page draws a layout with, apart from its seats."""
    bedded, opened = laid.bedded, laid.opened
    assert bedded is not None  # noqa: S101 - asked of layouts alone
    assert opened is not None  # noqa: S101 - the same
    layout = bedded.layout
    cloth = opened.job.cloth.colour
    counts = Counter(layout.lay.tolist())
    signs = {
        code: {"strokes": symbol.strokes, "solids": symbol.solids}
        for code, symbol in symbols([piece.code for piece in layout.pieces]).items()
    }
    return {
        "number": laid.number,
        "draft": laid.draft,
        "page_mm": list(layout.page_mm),
        "bounds_mm": _bounds(bedded),
        "cloth": cloth,
        "photo": photo_facts(laid),
        "shapes": [shape_facts(shape) for shape in bedded.shapes],
        "garment_marks": [shape_facts(shape) for shape in bedded.garment_marks],
        "kit": [
            {
                **piece_facts(piece),
                "symbol": signs[piece.code],
                "half_mm": sprite_half_mm(piece),
            }
            for piece in layout.pieces
        ],
        "units": [unit.name for unit in layout.units],
        "lays": [
            {
                "id": lay.id,
                "name": lay.name,
                "way": lay.way,
                "set_by": lay.set_by,
                "mark": lay.mark,
                "gap_mm": lay.gap_mm,
                "count": counts[number],
            }
            for number, lay in enumerate(layout.lays)
        ],
        "count": len(layout),
    }


def checked_facts(whole: Checked | CheckedPair, number: int) -> dict[str, Any]:
    """Return what plans and checks found: findings, materials, price, minutes, hoopings.

    Of a pair both sides are counted, bought and priced; the drawn one is shown.
    """
    checked = drawn_of(whole)
    plans = checked.plans
    bought = whole if isinstance(whole, CheckedPair) else plans
    return {
        "number": number,
        "fingerprint": plans.title.fingerprint,
        "stopped": whole.stopped,
        "pair": isinstance(whole, CheckedPair),
        "findings": [shown(finding) for finding in _findings(whole)],
        "materials": json.loads(materials_json(bought.materials, bought.goods)),
        "quote": json.loads(quote_json(bought.quote, plans.title)),
        "figures": figures_shown(whole),
        "press_passes": sum(side.plans.amounts.press_passes for side in sides_of(whole)),
        "work": [
            {"title": step.title, "times": step.times, "words": list(step.words)}
            for step in plans.work.steps
        ],
        "cautions": [
            {"words": caution.words, "source": caution.source} for caution in plans.work.cautions
        ],
        "templates": [template.name for template in plans.templates.templates],
        "hoopings": [_hooping(each, plans.stitches) for each in plans.stitches.hoopings],
    }


def _findings(whole: Checked | CheckedPair) -> list[Finding]:
    """Return all that was noticed; what is of the mirrored side alone has no place here."""
    away = [f"{side.opened.side}: " for side in sides_of(whole) if side.opened.mirrored]
    return [
        replace(each, where_mm=None) if each.message.startswith(tuple(away)) else each
        for each in whole.findings
    ]


def figures_shown(checked: Checked | CheckedPair) -> dict[str, Any]:
    """Return what a budget may be of, for the page; money and minutes as text."""
    figures = figures_of(checked)
    return {
        "count": figures.seats,
        "cost": None if figures.cost is None else str(figures.cost),
        "minutes": str(figures.minutes),
        "stitches": figures.stitches,
        "errors": figures.errors,
    }


def shape_facts(shape: Shape) -> dict[str, Any]:
    """Return a shape of the artwork as the page draws and names it."""
    return {
        "id": shape.id,
        "layer": shape.layer,
        "closed": shape.is_closed,
        "d": "".join(_path(path.segments, closed=path.closed) for path in shape.paths),
        "rule": shape.fill_rule,
        "fill": shape.fill,
        "stroke": shape.stroke,
    }


def piece_facts(piece: Piece) -> dict[str, Any]:
    """Return a piece as the page lists it."""
    return {
        "code": piece.code,
        "name": piece.name,
        "kind": piece.kind,
        "shape": piece.shape,
        "size": piece.size,
        "length_mm": piece.length_mm.nominal,
        "width_mm": piece.width_mm.nominal,
        "colour": piece.colour,
        "hex": piece.hex,
        "finish": piece.finish,
        "fixing": piece.fixing,
        "supplier": piece.supplier,
        "stock": piece.stock,
        "packs": [{"pieces": pack.pieces, "price": str(pack.price)} for pack in piece.packs],
    }


def _bounds(bedded: Bedded) -> list[float]:
    """Return the bounds of all there is to see."""
    points = [segments.reshape(-1, 2) for shape in bedded.shapes for segments in _segments(shape)]
    points.append(bedded.layout.xy)
    every = np.concatenate(points)
    if not len(every):
        return [0.0, 0.0, *bedded.layout.page_mm]
    low, high = every.min(axis=0), every.max(axis=0)
    return [round(float(value), 3) for value in (*low, *high)]


def _segments(shape: Shape) -> list[Floats]:
    return [path.segments for path in shape.paths]


def _path(segments: Floats, *, closed: bool) -> str:
    rows = np.round(segments, 3)
    start = f"M{rows[0, 0, 0]:g} {rows[0, 0, 1]:g}"
    curves = "".join(
        f"C{a:g} {b:g} {c:g} {d:g} {e:g} {f:g}" for a, b, c, d, e, f in rows[:, 1:].reshape(-1, 6)
    )
    return f"{start}{curves}{'Z' if closed else ''}"


def _hooping(hooping: Hooping, plan: StitchPlan) -> dict[str, Any]:
    """Return a hooping as it lies on the layout, block by block."""
    back = hooping.to_stitch.inverse()
    ring = field_ring(plan, hooping)
    stops = {stop.block: stop for stop in hooping.stops}
    return {
        "number": hooping.number,
        "position": hooping.position,
        "mirrored": hooping.mirrored,
        "field": None if ring is None else np.round(back(ring), 2).tolist(),
        "blocks": [
            {
                "hex": block.hex,
                "code": stops[number].code if number in stops else "",
                "count": stops[number].count if number in stops else 0,
                "words": stops[number].words if number in stops else "",
                "lines": [np.round(back(run), 2).ravel().tolist() for run in runs_of(block)],
                "seats": sorted(
                    {seat for mark in hooping.marks if mark.block == number for seat in mark.seats}
                ),
            }
            for number, block in enumerate(hooping.design.blocks)
        ],
    }
