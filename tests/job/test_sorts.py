"""Names of pieces that no catalogue of a job has: what was meant, or where it is."""

from __future__ import annotations

import pytest

from embellish.catalogue.catalogue import Catalogue
from embellish.catalogue.shipped import shipped
from embellish.errors import JobError
from embellish.job.reading import read_job
from embellish.job.sorts import Sorts

JOB = """
version = 1
title = "Test"
[artwork]
file = "a.svg"
[[lay]]
id = "edge"
shapes = "*"
way = "row"
pieces = ["R-SS10-CLEAR"]
gap_mm = 0.9
[[edit]]
lay = "edge"
do = "swap"
piece = "R-SS10-CLEAR"
at = [0.5, 0.5]
"""


def told(job: str, catalogue: Catalogue) -> str:
    with pytest.raises(JobError) as wrong:
        Sorts.of(read_job(job.encode(), "job.toml"), catalogue)
    return str(wrong.value)


@pytest.mark.parametrize(
    ("name", "mend"),
    [
        ("R-SS10-CLAER", "Did you mean 'R-SS10-CLEAR'?"),
        ("r-ss10-clear", "Did you mean 'R-SS10-CLEAR'?"),
        ("B-11-GOLD", 'It is in another catalogue: add "shipped:beads" to the job\'s catalogues.'),
        ("rhubarb", "See the codes there are with: embellish catalogue list"),
    ],
)
def test_a_piece_that_is_not_there(name: str, mend: str):
    lay = told(JOB.replace("R-SS10-CLEAR", name, 1), shipped("stones"))
    assert f"lay 'edge': no catalogue of this job has a piece '{name}'. {mend}" in lay
    edit = told(name.join(JOB.rsplit("R-SS10-CLEAR", maxsplit=1)), shipped("stones"))
    assert "edit 'swap at = [0.5, 0.5]': no catalogue of this job has a piece" in edit
    assert mend in edit


def test_an_empty_catalogue_asks_for_pieces():
    assert "Add pieces to the catalogue." in told(
        JOB.replace("R-SS10-CLEAR", "X-1"), Catalogue("stock.toml")
    )
