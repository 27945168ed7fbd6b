"""DXF: what is read back is what was drawn, y turned up."""

import os
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from embellish.errors import EmbellishError
from embellish.geometry.outlines import Outline
from embellish.outputs.drawing.drawing import (
    Chains,
    Circles,
    Curves,
    Drawing,
    Instances,
    Item,
    Layer,
    Lines,
    Picture,
    Style,
    Words,
)
from embellish.outputs.drawing.dxf import dxf_bytes, lost_in_dxf

CUT = Style(stroke="#ff8000")


def read(*items: Item) -> Any:
    data = dxf_bytes(Drawing(100.0, 50.0, (Layer("cut", items),)))
    return ezdxf.read(StringIO(data.decode()))  # type: ignore[attr-defined]  # untyped export


def test_a_file_is_in_millimetres_with_its_extents_and_without_faults():
    document = read(Circles(np.array([[10.0, 10.0]]), np.array([2.0]), CUT))
    assert document.header["$INSUNITS"] == 4
    assert document.dxfversion >= "AC1015"
    assert tuple(document.header["$EXTMAX"]) == (100.0, 50.0, 0.0)
    assert not document.audit().has_errors


def test_circles_stand_on_their_layer_in_their_colour_y_up():
    document = read(Circles(np.array([[10.0, 12.5]]), np.array([2.0]), CUT))
    (circle,) = document.modelspace()
    assert circle.dxftype() == "CIRCLE"
    assert tuple(circle.dxf.center) == (10.0, 37.5, 0.0)
    assert circle.dxf.layer == "cut"
    assert circle.rgb == (255, 128, 0)


def test_a_chain_keeps_its_arcs():
    outline = Outline(
        np.array([[10.0, 10.0], [20.0, 10.0], [20.0, 20.0]]), np.array([0.5, 0, -0.2])
    )
    (line,) = read(Chains((outline,), CUT)).modelspace()
    assert line.closed
    assert [tuple(point) for point in line.get_points("xyb")] == [
        (10.0, 40.0, -0.5),
        (20.0, 40.0, 0.0),
        (20.0, 30.0, 0.2),
    ]
    # The first side bulges up as seen, so the highest point lies above its chord.
    tops = [entity for entity in line.virtual_entities() if entity.dxftype() == "ARC"]
    highest = max(arc.dxf.center.y + arc.dxf.radius for arc in tops)
    assert highest == pytest.approx(42.5)


def test_curves_are_exact_splines():
    chain = np.array(
        [
            [[0.0, 0.0], [3.0, 0.0], [5.0, 2.0], [5.0, 5.0]],
            [[5.0, 5.0], [5.0, 8.0], [3.0, 9.0], [0.0, 9.0]],
        ]
    )
    (spline,) = read(Curves((chain,), CUT)).modelspace()
    tool = spline.construction_tool()
    t = 0.3
    weights = [(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3]
    for index in range(2):
        expected = np.array(weights) @ chain[index] * [1, -1] + [0, 50]
        assert tuple(tool.point(index + t))[:2] == pytest.approx(tuple(expected))


def test_lines_words_and_repeated_pictures():
    small = (Circles(np.array([[1.0, 0.0]]), np.array([0.5]), CUT), Lines((), Style()))
    document = read(
        Lines((np.array([[0.0, 0.0], [5.0, 5.0]]),), CUT),
        Words(3.0, 4.0, "hole 3 mm", height_mm=2.0, anchor="middle", angle_deg=90.0),
        Instances("dot", small, np.array([[10.0, 10.0]]), np.array([90.0])),
    )
    line, text, insert = document.modelspace()
    assert [tuple(p) for p in line.get_points("xy")] == [(0.0, 50.0), (5.0, 45.0)]
    assert not line.closed
    assert (text.dxf.text, text.dxf.height, text.dxf.rotation) == ("hole 3 mm", 2.0, -90.0)
    (circle,) = insert.virtual_entities()
    # A quarter turn clockwise as seen takes +x to down.
    assert tuple(circle.dxf.center)[:2] == pytest.approx((10.0, 39.0))


def test_equal_drawings_are_equal_bytes():
    drawing = Drawing(
        9.0, 9.0, (Layer("a", (Circles(np.array([[4.0, 4.1]]), np.array([2.0]), CUT),)),)
    )
    assert dxf_bytes(drawing) == dxf_bytes(drawing)


def test_a_missing_library_is_one_sentence_with_the_install_line(monkeypatch):
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(EmbellishError, match=r"-m pip install 'ezdxf>=1\.4'"):
        dxf_bytes(Drawing(1.0, 1.0, ()))


def test_what_is_left_out_is_told_and_outlines_of_fills_are_kept():
    filled = Circles(np.array([[10.0, 10.0]]), np.array([2.0]), Style(fill="#000000"))
    drawing = Drawing(100.0, 50.0, (Layer("cut", (filled, Picture(b"", 0.0, 0.0, 1.0, 1.0))),))
    assert lost_in_dxf(drawing) == ("fills (their outlines are kept)", "pictures")
    assert len(read(filled).modelspace()) == 1
    plain = Drawing(9.0, 9.0, (Layer("cut", (Words(1.0, 1.0, "x"),)),))
    assert lost_in_dxf(plain) == ()


def test_equal_bytes_whatever_the_order_of_sets():
    script = """
import hashlib, numpy as np
from embellish.outputs.drawing.drawing import Circles, Drawing, Layer, Lines, Style, Words
from embellish.outputs.drawing.dxf import dxf_bytes
items = (
    Circles(np.array([[9.0, 9.0]]), np.ones(1), Style(stroke="#ff0000")),
    Lines((np.eye(2),), Style(stroke="#ff0000")),
    Words(1.0, 1.0, "x"),
)
print(hashlib.sha256(dxf_bytes(Drawing(20.0, 20.0, (Layer("cut", items),)))).hexdigest())
"""
    hashes = {
        subprocess.run(
            [sys.executable, "-c", script],
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(Path.cwd())},
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(hashes) == 1
