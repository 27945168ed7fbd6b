"""The way ``points``: one piece where each shape stands, or on the nodes or ends of its lines."""

from __future__ import annotations

from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from embellish.artwork.artwork import Shape
from embellish.artwork.flatten import lines_of
from embellish.catalogue.shapes import reduced_angle
from embellish.findings import Finding
from embellish.geometry.curves import bezier_bounds
from embellish.geometry.nodes import Nodes, long_axis_deg, nodes_of
from embellish.geometry.streams import Stream
from embellish.layout.ways.fills import dealt
from embellish.layout.ways.way import Ground, Kit, Laid, Progress, Seats, Way, WaySettings
from embellish.units import EPS_MM


class PointsSettings(WaySettings):
    """Settings of a points lay."""

    at: Literal["centre", "nodes", "ends"] = "centre"
    """centre: one piece in the middle of each shape's bounds; nodes: one on every node of its
    lines; ends: one on either end of its open lines."""
    turn: Literal["fixed", "along", "across"] = "fixed"
    """How pieces that are not round are turned. Along a line at its nodes and ends; along the
    longer axis of a shape at its centre, an open line pointing to its end."""
    turn_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    """Added to the angle that ``turn`` gives, clockwise as seen."""


def lay_points(
    ground: Ground, kit: Kit, settings: PointsSettings, stream: Stream, progress: Progress
) -> Laid:
    """Lay pieces on the points of each shape of the ground.

    Parameters
    ----------
    ground, kit, settings, stream, progress
        As every way takes them.

    Returns
    -------
    Laid
        A row a line (one a shape at centres), u the fraction of the line. The sequence goes on
        from shape to shape; shares are dealt over all points of the lay. A shape without a point
        is the finding ``no-points``, one at whose centre no direction is seen ``no-direction``.
    """
    found: list[Nodes] = []
    shapes: list[int] = []
    rows: list[int] = []
    findings: list[Finding] = []
    for number, shape in enumerate(ground.shapes):
        own = _points(shape, settings)
        found.extend(nodes for _, nodes in own)
        rows.extend(row for row, _ in own)
        shapes.extend([number] * len(own))
        if not own:
            findings.append(_no_points(shape))
        if settings.at == "centre" and settings.turn != "fixed" and _lie_deg(shape) is None:
            findings.extend(_no_direction(shape, kit, own))
        progress((number + 1) / len(ground.shapes))
    if not found:
        return Laid(Seats.none(), tuple(findings))
    each = np.array([len(nodes) for nodes in found])
    n = int(each.sum())
    across = 90.0 if settings.turn == "across" else 0.0
    heading = np.concatenate([nodes.heading_deg for nodes in found])
    base = np.zeros(n) if settings.turn == "fixed" else heading + across
    choice = dealt(kit, np.arange(n), stream.child("deal"))
    seats = Seats(
        xy=np.concatenate([nodes.xy for nodes in found]),
        angle_deg=reduced_angle(base + settings.turn_deg, np.array(kit.turns)[choice]),
        choice=choice,
        shape=np.repeat(np.array(shapes, dtype=np.int64), each),
        row=np.repeat(np.array(rows, dtype=np.int64), each),
        u=np.concatenate([nodes.u for nodes in found]),
        weight=np.zeros(n),
    )
    return Laid(seats, tuple(findings))


def _points(shape: Shape, settings: PointsSettings) -> list[tuple[int, Nodes]]:
    """Return the points of a shape, by the number of their line."""
    if settings.at == "centre":
        return [(0, _centre(shape))]
    lines = enumerate(shape.paths)
    if settings.at == "nodes":
        return [(row, nodes_of(path.segments, closed=path.closed)) for row, path in lines]
    return [
        (row, _ends(nodes_of(path.segments, closed=False)))
        for row, path in lines
        if not path.closed
    ]


def _ends(nodes: Nodes) -> Nodes:
    """Return the first and last node; one where they are the same place."""
    if len(nodes) < 2 or np.abs(nodes.xy[0] - nodes.xy[-1]).max() <= EPS_MM:
        return nodes.taken(slice(0, 1))
    return nodes.taken(slice(0, None, len(nodes) - 1))


def _centre(shape: Shape) -> Nodes:
    """Return the middle of a shape's bounds, and which way the shape lies."""
    x0, y0, x1, y1 = bezier_bounds(np.concatenate([path.segments for path in shape.paths]))
    lie = _lie_deg(shape)
    middle = np.array([[(x0 + x1) / 2.0, (y0 + y1) / 2.0]])
    return Nodes(middle, np.array([0.0 if lie is None else lie]), np.zeros(1))


def _lie_deg(shape: Shape) -> float | None:
    """Return which way a shape lies: its longer axis; a single open line points to its end."""
    axis = long_axis_deg([line.points for line in lines_of(shape)])
    if axis is None or len(shape.paths) != 1 or shape.paths[0].closed:
        return axis
    segments = shape.paths[0].segments
    dx, dy = (segments[-1, 3] - segments[0, 0]).tolist()
    turn = np.radians(axis)
    return axis + 180.0 if dx * np.cos(turn) + dy * np.sin(turn) < -EPS_MM else axis


def _no_points(shape: Shape) -> Finding:
    x0, y0, x1, y1 = bezier_bounds(np.concatenate([path.segments for path in shape.paths]))
    return Finding(
        code="no-points",
        severity="warning",
        message=f"The lines of '{shape.id}' close, so they have no ends, and it stays empty.",
        where_mm=((x0 + x1) / 2.0, (y0 + y1) / 2.0),
        mend="Take at = 'nodes' or 'centre', or open the line in the drawing.",
    )


def _no_direction(shape: Shape, kit: Kit, own: list[tuple[int, Nodes]]) -> list[Finding]:
    if not any(kit.turns):
        return []
    x, y = own[0][1].xy[0].tolist()
    return [
        Finding(
            code="no-direction",
            severity="note",
            message=(
                f"'{shape.id}' is as wide as it is long, so it shows no direction; "
                f"its piece is turned as if it lay level."
            ),
            where_mm=(x, y),
            mend="Draw a longer shape or a short line, or take turn = 'fixed'.",
        )
    ]


POINTS: Final = Way(
    name="points",
    settings=PointsSettings,
    needs="any",
    fills=False,
    mixes=True,
    lay=lay_points,
    help="One piece in the middle of each shape, or on the nodes or ends of its lines.",
)
