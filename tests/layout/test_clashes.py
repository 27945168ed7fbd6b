from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from embellish.catalogue.piece import Piece, Span
from embellish.catalogue.shapes import piece_footprint
from embellish.geometry.gaps.gaps import neighbour_gaps
from embellish.layout.clashes import clashing_pairs, without_clashes
from embellish.layout.layout import Lay, Layout
from embellish.layout.ranked import Ranked
from embellish.units import LAY_SLACK_MM


def piece(code: str, shape: str, length: float, width: float) -> Piece:
    spans = {
        "length_mm": Span(min=length, nominal=length, max=length),
        "width_mm": Span(min=width, nominal=width, max=width),
    }
    return Piece.model_validate(
        {"code": code, "kind": "stone", "shape": shape, "fixing": "heat-set", **spans}
    )


PIECES = (piece("R", "round", 2.0, 2.0), piece("N", "navette", 4.0, 2.0))


def layout(xy: Any, lay: Any, lays: tuple[Lay, ...], kind: Any = 0, angle: Any = 0.0) -> Layout:
    n = len(xy)
    return Layout(
        pieces=PIECES,
        units=(),
        piece_footprints=tuple(piece_footprint(one) for one in PIECES),
        unit_footprints=(),
        lays=lays,
        shape_ids=(),
        xy=np.asarray(xy, dtype=np.float64).reshape(-1, 2),
        angle_deg=np.broadcast_to(np.asarray(angle, dtype=np.float64), n),
        piece=np.broadcast_to(np.asarray(kind), n),
        unit=np.full(n, -1),
        lay=np.broadcast_to(np.asarray(lay), n),
        shape=np.full(n, -1),
        row=np.zeros(n, dtype=np.int64),
        u=np.arange(n, dtype=np.float64),
    )


def lay(name: str, gap: float, *, lapped: bool = False) -> Lay:
    return Lay(name, f"the {name}", "row", "template", "none", gap, lapped)


def test_the_earlier_lay_stays_and_the_later_tells():
    made = layout(
        [[0, 0], [10, 0], [2.4, 0], [20, 0]], [0, 0, 1, 1], (lay("a", 0.5), lay("b", 0.2))
    )
    left, kept, findings = without_clashes(Ranked.of(made))
    assert kept.tolist() == [True, True, False, True]
    assert left.layout.xy[:, 0].tolist() == [0.0, 10.0, 20.0]
    (finding,) = findings
    assert (finding.code, finding.severity, finding.lay) == ("clash-dropped", "warning", "b")
    assert finding.where_mm == (2.4, 0.0)
    assert finding.message.startswith("1 of 2 seat was dropped from 'the b'") or (
        finding.message.startswith("1 of 2 seats was dropped from 'the b'")
    )
    assert "other lays" in finding.message


def test_the_larger_gap_of_two_lays_holds():
    made = layout(
        [[0, 0], [2.4, 0], [9, 0], [11.4, 0]], [0, 1, 1, 1], (lay("a", 0.5), lay("b", 0.2))
    )
    _, kept, _ = without_clashes(Ranked.of(made))
    assert kept.tolist() == [True, False, True, True]


def test_within_a_lay_weight_then_table_order_decides():
    made = layout([[0, 0], [1, 0], [2, 0], [10, 0], [11, 0]], 0, (lay("a", 0.5),))
    _, kept, findings = without_clashes(Ranked.of(made, np.array([0.0, 1.0, 0.0, 0.0, 0.0])))
    assert kept.tolist() == [False, True, False, True, False]
    assert "3 of 5" in findings[0].message
    assert "own lay" in findings[0].message
    # Another lay's corner does not outrank an earlier lay.
    made = layout([[0, 0], [1, 0]], [0, 1], (lay("a", 0.5), lay("b", 0.5)))
    assert without_clashes(Ranked.of(made, np.array([0.0, 5.0])))[1].tolist() == [True, False]


def test_inside_a_lapped_lay_nothing_clashes():
    lays = (lay("a", 0.5, lapped=True), lay("b", 0.5, lapped=True))
    made = layout([[0, 0], [1, 0], [1.5, 0]], [0, 0, 1], lays)
    _, kept, _ = without_clashes(Ranked.of(made))
    assert kept.tolist() == [True, True, False]


def test_a_gap_as_ways_lay_it_is_kept_and_one_that_rounding_could_break_is_not():
    for short, stays in ((-LAY_SLACK_MM, True), (-1e-6, False), (0.0, False), (1e-8, False)):
        xy = np.array([[0.1, 0.7], [0.1 + 2.3 - short, 0.7]])
        kept = without_clashes(Ranked.of(layout(xy, 0, (lay("a", 0.3),))))[1]
        assert kept.all() == stays, short


def test_nothing_to_drop_leaves_the_layout_as_it_is():
    for count in (0, 1, 2):
        made = layout(np.arange(count)[:, None] * [[5.0, 0.0]], 0, (lay("a", 0.5),))
        left, kept, findings = without_clashes(Ranked.of(made))
        assert left.layout is made
        assert kept.all()
        assert findings == ()


@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.3, 1.0]))
@settings(max_examples=30, deadline=None)
def test_no_gap_below_the_asked_one_is_left_and_nothing_is_dropped_in_vain(seed, gap):
    rng = np.random.default_rng(seed)
    n = 60
    lays = (lay("a", gap), lay("b", 0.2), lay("c", 0.5, lapped=True))
    made = layout(
        rng.uniform(0, 18, (n, 2)),
        np.sort(rng.integers(0, 3, n)),
        lays,
        rng.integers(0, 2, n),
        rng.uniform(0, 360, n),
    )
    ranked, kept, _ = without_clashes(Ranked.of(made, rng.integers(0, 2, n).astype(np.float64)))
    left = ranked.layout
    pairs, gaps = neighbour_gaps(left.xy, left.angle_deg, left.footprint, left.footprints, 1.5)
    lay_gap = np.array([one.gap_mm for one in lays])
    of = left.lay[pairs]
    exempt = (of == 2).all(axis=1)
    assert np.all((gaps >= lay_gap[of].max(axis=1) - 1e-9) | exempt)
    # Every seat that went clashes with one that stayed, of its own lay or an earlier one.
    clashing = clashing_pairs(made)
    for seat in np.flatnonzero(~kept):
        others = clashing[(clashing == seat).any(axis=1)].sum(axis=1) - seat
        assert np.any(kept[others] & (made.lay[others] <= made.lay[seat]))


def test_two_rows_that_cross_keep_their_gap():
    along = np.arange(12) * (2.5 + LAY_SLACK_MM)
    first = np.stack([along, np.full(len(along), 10.0)], axis=1)
    second = np.stack([np.full(len(along), 10.7), along], axis=1)
    lays = (lay("a", 0.5), lay("b", 0.5))
    made = layout(np.concatenate([first, second]), np.repeat([0, 1], len(along)), lays)
    _, kept, findings = without_clashes(Ranked.of(made))
    assert kept[: len(along)].all()
    assert 1 <= np.count_nonzero(~kept) <= 2
    assert [finding.lay for finding in findings] == ["b"]
    assert pytest.approx(10.7) == findings[0].where_mm[0]  # type: ignore[index]
