"""Holes: stretches of a row's path with room for one more piece, and filling them."""

from __future__ import annotations

import numpy as np

from embellish.arrays import Floats, Ints
from embellish.geometry.footprints import Standing
from embellish.geometry.rows.bodies import Lined
from embellish.geometry.rows.clear import lay_clear, lay_in_parts
from embellish.geometry.rows.near import Near, all_standing
from embellish.geometry.rows.spans import Course, Spans

_LOOKS = 8
"""Look-out steps a pitch; a stretch of free places shorter than a step is no hole."""
_WIDE = 1.9
"""Only neighbours farther apart along the path than this many pitches may have one between."""

_DETOUR = 0.5
"""A path that goes this many pitches farther than straight has gone round something."""


def filled(course: Course, pieces: Lined, others: Standing, *, only_detours: bool) -> Lined:
    """Return the pieces of a row with more wherever its path still has room for one.

    Such room is left where a row has skipped a neck of its path, or pieces had to go.

    Parameters
    ----------
    course
        Path, pieces and gap.
    pieces
        What stands, in path order.
    others
        What stood before.
    only_detours
        Look only where the path goes a long way round between two neighbours: a row without
        clashes has no other holes, and its wide gaps are meant.
    """
    start, end = _wide(course, pieces, only_detours=only_detours)
    if not len(start):
        return pieces
    hole = _holes(course, start, end, all_standing(course.bodies, pieces, others))
    if not len(hole):
        return pieces
    near = Near.of(course.bodies, pieces, others)
    nothing = Standing(np.zeros((0, 2)), np.zeros(0), np.zeros(0, dtype=np.int64))
    for index in hole.tolist():
        span = _span(start[index], end[index])
        around = near.around(course, span)

        def clear(span: Spans, fixed: Lined, around: Standing = around) -> tuple[Lined, Floats]:
            return lay_clear(course, span, all_standing(course.bodies, fixed, around), nothing)

        laid, _ = lay_in_parts(course, span, Lined.none(), clear)
        near.add(laid)
    return pieces.joined(*near.added)


def _wide(course: Course, pieces: Lined, *, only_detours: bool) -> tuple[Floats, Floats]:
    """Return the stretches between neighbours that are long enough to be looked at."""
    s = pieces.s
    if len(s) < 2:
        return s[:0], s[:0]
    start, end = s[:-1], s[1:]
    if course.track.closed:
        start, end = s, np.append(end, s[0] + course.track.length)
    pitch = 2.0 * float(course.sequence.radius.min()) + course.asked
    wide = np.flatnonzero(end - start > _WIDE * pitch)
    start, end = start[wide], end[wide]
    if only_detours:
        step = pieces.xy[(wide + 1) % len(s)] - pieces.xy[wide]
        detour = end - start - np.hypot(step[:, 0], step[:, 1]) > _DETOUR * pitch
        start, end = start[detour], end[detour]
    return start, end


def _holes(course: Course, start: Floats, end: Floats, standing: Standing) -> Ints:
    """Return which stretches have a place where the largest piece clears all that stands."""
    track, bodies = course.track, course.bodies
    step = (2.0 * float(course.sequence.radius.max()) + course.asked) / _LOOKS
    looks = np.ceil((end - start) / step).astype(np.int64) + 1
    of = np.repeat(np.arange(len(start)), looks)
    index = np.arange(len(of)) - np.repeat(np.cumsum(looks) - looks, looks)
    s = start[of] + (end - start)[of] * index / (looks - 1)[of]
    tangent = np.zeros(len(s))
    if not bodies.every_round:
        tangent = track.tangent_deg(s, start[of], end[of], course.sequence.window)
    largest = np.full(len(s), int(np.argmax(bodies.reach)))
    tried = Lined(s, track.at(s), tangent, largest, np.zeros(len(s)), of)
    free = bodies.room(tried, standing, course.asked, step) >= 0.0
    return np.unique(of[free])


def _span(start: float, end: float) -> Spans:
    """Return a stretch as a span of its own, with nothing pinned at its ends."""
    one, yes, no = np.zeros(1, dtype=np.int64), np.ones(1, dtype=bool), np.zeros(1, dtype=bool)
    s, e = np.array([start]), np.array([end])
    return Spans(s, e, one, one, yes, yes, np.ones(1), s, e, no, no)
