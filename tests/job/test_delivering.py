"""What was delivered is written down as entered, stays as it is, and is held against today."""

from __future__ import annotations

from pathlib import Path

import pytest

from embellish.errors import JobError
from embellish.job.again import garments_again, of_side, of_size, templates_again
from embellish.job.delivering import (
    Delivery,
    delivered_path,
    delivery_of,
    read_deliveries,
    with_delivery,
)
from embellish.job.files import open_job
from embellish.job.making import Checked, check_job, made_files
from embellish.job.partners import in_pair, made_job, materials_of
from embellish.job.placing import place
from tests.job.test_bundling import written
from tests.laws import check_made


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = written(tmp_path)
    path.write_text(path.read_text().split("[[size]]")[0])
    return path


def delivery(checked: Checked, *, date: str = "2026-11-20", lots: tuple[str, ...] = ()) -> Delivery:
    print_ = checked.plans.title.fingerprint
    return delivery_of(checked.layout, date=date, fingerprint=print_, quantity=2, lots=lots)


def deliver(job: Path, **more: object) -> None:
    path = delivered_path(job)
    before = path.read_bytes() if path.exists() else b""
    path.write_bytes(with_delivery(before, delivery(check_job(open_job(job)), **more)))  # type: ignore[arg-type]


def told(job: Path) -> list[str]:
    codes = ("not-as-delivered", "lot-differs")
    return [each.code for each in check_job(open_job(job)).findings if each.code in codes]


def with_lot(job: Path, lot: str) -> None:
    mine = job.parent / "mine.toml"
    text = "\n".join(line for line in mine.read_text().splitlines() if not line.startswith("lot"))
    mine.write_text(text + f'\nlot = "{lot}"\n')


def test_a_record_only_grows(job: Path):
    deliver(job, lots=("A=L1", "A=L2"))
    first = delivered_path(job).read_bytes()
    deliver(job, date="2027-01-02")
    whole = delivered_path(job).read_bytes()
    assert whole.startswith(first.rstrip(b"\n"))
    one, two = read_deliveries(whole, "d")
    assert (one.date.isoformat(), two.date.isoformat()) == ("2026-11-20", "2027-01-02")
    assert one.lots == {"A": ("L1", "L2")}
    assert one.pieces["A"] > 20
    assert one == read_deliveries(first, "d")[0]
    assert [each.words for each in open_job(job).deliveries] == [one.words, two.words]
    assert "2 garments" in one.words
    assert "A lot L1 and L2" in one.words


def test_nothing_is_told_while_all_is_as_delivered(job: Path):
    assert told(job) == []
    with_lot(job, "L1")
    deliver(job)
    # Not entered: the lot that the catalogue names.
    assert open_job(job).deliveries[0].lots == {"A": ("L1",)}
    assert told(job) == []


def test_another_lot_is_told(job: Path):
    deliver(job, lots=("A=L1",))
    with_lot(job, "L7")
    assert told(job) == ["lot-differs"]
    with_lot(job, "L1")
    assert told(job) == []


def test_another_layout_is_told(job: Path):
    deliver(job)
    text = job.read_text()
    job.write_text(text.replace("0.9", "1.3"))
    assert told(job) == ["not-as-delivered"]
    # What was delivered later counts too, and the first again when it comes back.
    deliver(job)
    assert told(job) == []
    job.write_text(text)
    assert told(job) == []


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"date": "20.11.2026"}, "'20.11.2026' is no date.*year-month-day"),
        ({"date": "2026-02-30"}, "is no date"),
        ({"lots": ("A",)}, "'A' is no lot.*CODE=LOT"),
        ({"lots": ("A=",)}, "is no lot"),
        ({"lots": ("B=L1",)}, "no piece 'B'"),
    ],
)
def test_what_is_entered_wrong_is_one_sentence(job: Path, more: dict[str, object], words: str):
    with pytest.raises(JobError, match=words):
        deliver(job, **more)


@pytest.mark.parametrize("text", ["x = 1", "[[delivered]]\ndate = 3", "delivered = 1", "]"])
def test_a_record_that_is_none_is_named(job: Path, text: str):
    delivered_path(job).write_text(text)
    with pytest.raises(JobError, match=r"job\.delivered\.toml"):
        open_job(job)


def test_one_garment_again_with_just_its_buying(job: Path, tmp_path: Path):
    job.write_text(job.read_text().replace('title = "Bundled"', 'title = "Bundled"\nquantity = 40'))
    opened = open_job(job)
    whole = made_files(opened)
    again = garments_again(opened, 1)
    place(again.files, tmp_path / "again")
    layout = check_made(tmp_path / "again")
    assert layout["quantity"] == 1
    for name in ("templates/template-1.svg", "proof.svg", "chart.svg"):
        assert again.files[name] == whole.files[name], name
    first, one = (materials_of(made.checked).lines[0] for made in (whole, again))
    assert first.count == 40 * one.count
    assert one.count == one.per_garment
    assert one.needed < first.needed


def test_one_lost_template_again_byte_for_byte(job: Path):
    # A wall too thin for one sheet keeps the two lays on two templates.
    job.write_text(job.read_text() + '[template]\ngroup = "lay"\n')
    opened = open_job(job)
    whole = made_files(opened, anyway=True)
    again = templates_again(opened, ["edge"], anyway=True)
    names = {name for name in again.files if name.endswith(".svg")}
    assert names == {"templates/edge.svg"}
    assert again.files["templates/edge.svg"] == whole.files["templates/edge.svg"]
    assert again.checked.opened.job == opened.job
    assert b'"lines": []' in again.files["materials.json"]
    with pytest.raises(JobError, match=r"no template 'egde'.*edge"):
        templates_again(opened, ["egde"])


def test_one_side_of_a_pair_again(job: Path):
    job.write_text(job.read_text() + '[partner]\ndrawn = "LEFT"\n')
    opened = open_job(job)
    right = garments_again(opened, 1, "RIGHT")
    assert right.files["layout.json"] == made_job(opened).files["RIGHT/layout.json"]
    assert {name.split("/")[0] for name in garments_again(opened, 1).files} >= {"LEFT", "RIGHT"}
    with pytest.raises(JobError, match=r"no side is named.*LEFT or RIGHT"):
        of_side(opened, "")
    with pytest.raises(JobError, match="no side 'MIDDLE'"):
        of_side(opened, "MIDDLE")


def test_sides_are_held_against_their_own_delivery(job: Path):
    job.write_text(job.read_text() + '[partner]\ndrawn = "LEFT"\n')
    left, right = (check_job(side) for side in in_pair(open_job(job)))
    assert left.plans.title.fingerprint != right.plans.title.fingerprint
    entry = delivery(left).model_copy(update={"side": "LEFT"})
    delivered_path(job).write_bytes(with_delivery(b"", entry))
    assert "LEFT" in entry.words
    for side in in_pair(open_job(job)):
        assert not [f for f in check_job(side).findings if f.code == "not-as-delivered"]


def test_a_size_is_named_where_there_are_several(tmp_path: Path):
    opened = open_job(written(tmp_path))
    assert of_size(opened, "L").size == "L"
    with pytest.raises(JobError, match="--size with one of L"):
        of_size(opened, "")
    with pytest.raises(JobError, match=r"no size 'M'.*L"):
        of_size(opened, "M")
