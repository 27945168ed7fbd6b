"""Rates come back out of jobs that were made by them; where jobs cannot tell, that is said."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from embellish.plans.material_settings import MaterialSettings, Spare
from embellish.plans.price_settings import PriceSettings
from embellish.plans.rates.correcting import Corrected, corrected_rates
from embellish.plans.rates.solving import Timed, told_apart
from embellish.plans.rates.work_log import WorkLog, WorkRow
from embellish.plans.stitching.settings import StitchSettings

counts = st.integers(1, 500)
minutes = st.floats(0.01, 5.0)


def log(*rows: tuple[str, float, dict[str, int]]) -> WorkLog:
    return WorkLog(
        "w",
        tuple(
            WorkRow(entry, what, Decimal(repr(took)), did, target=f"job {entry}")
            for entry, (what, took, did) in enumerate(rows, 1)
        ),
    )


def values(found: Corrected) -> dict[str, object]:
    return {".".join(rate.at): rate.value for rate in found.rates}


@settings(deadline=None)
@given(
    st.lists(st.tuples(counts, counts, counts), min_size=4, max_size=9),
    st.tuples(minutes, minutes, minutes),
)
def test_planted_rates_are_recovered(jobs: list[tuple[int, ...]], planted: tuple[float, ...]):
    units = ("sewn bead", "sewn sequin", "hand stone")
    timed = [
        Timed(
            number,
            "",
            sum(n * each for n, each in zip(job, planted, strict=True)),
            dict(zip(units, job, strict=True)),
        )
        for number, job in enumerate(jobs)
    ]
    solved = told_apart(timed, {unit: unit for unit in units})
    assume(solved is not None)
    assert solved is not None
    for unit, each in zip(units, planted, strict=True):
        assert solved.rates[unit] == pytest.approx(each, rel=1e-6)
        low, high = solved.spread[unit]
        assert low == pytest.approx(high, rel=1e-6)


def test_clearly_different_jobs_are_told_apart():
    jobs = [
        ("setting", 0.4 * a + 0.9 * b + 0.1 * c, {"sewn bead": a, "sewn bugle": b, "hand stone": c})
        for a, b, c in ((400, 20, 5), (30, 200, 60), (100, 90, 400), (250, 10, 120))
    ]
    found = values(corrected_rates(log(*jobs)))
    assert found == {
        "price.minutes_per_piece_of_kind.bead": 0.4,
        "price.minutes_per_piece_of_kind.bugle": 0.9,
        "price.minutes_per_piece.hand": 0.1,
    }


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(1, 400), counts), min_size=1, max_size=8))
def test_one_rate_is_all_minutes_by_all_that_was_done(jobs: list[tuple[float, int]]):
    found = corrected_rates(log(*(("pressing", took, {"passes": n}) for took, n in jobs)))
    ((path, value),) = values(found).items()
    assert path == "price.press_cycle_minutes"
    assert value == pytest.approx(sum(t for t, _ in jobs) / sum(n for _, n in jobs), rel=0.0051)


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(1, 400), counts, counts), min_size=1, max_size=6))
def test_all_jobs_together_take_what_was_logged(jobs: list[tuple[float, int, int]]):
    found = corrected_rates(
        log(*(("setting", t, {"sewn bead": a, "hand stone": b}) for t, a, b in jobs))
    )
    expected = sum(each.expected for each in found.held)
    logged = sum(each.logged for each in found.held)
    assert expected == pytest.approx(logged, rel=1e-4)
    assert all(rate.value > 0 for rate in found.rates if isinstance(rate.value, float))


def test_too_few_jobs_keep_the_proportions_of_the_rates_so_far():
    prices = PriceSettings.model_validate({"minutes_per_piece": {"sewn": 0.4, "hand": 0.1}})
    found = corrected_rates(log(("setting", 60, {"sewn bead": 100, "hand stone": 80})), prices)
    assert values(found) == {
        "price.minutes_per_piece.sewn": 0.5,
        "price.minutes_per_piece.hand": 0.125,
    }
    assert all("too few jobs" in rate.caution for rate in found.rates)
    assert "60 min logged, 48 by the rates so far: × 1.25, 1 job" in found.rates[0].sums


def test_jobs_all_alike_tell_no_more_than_one():
    jobs = [
        ("setting", 60.0 * k, {"sewn bead": 100 * k, "hand stone": 80 * k}) for k in range(1, 7)
    ]
    assert all("too alike" in rate.caution for rate in corrected_rates(log(*jobs)).rates)


def test_work_that_shares_no_rate_is_worked_out_apart():
    found = corrected_rates(
        log(
            ("setting", 50, {"sewn bead": 100}),
            ("setting", 30, {"template stone": 500, "hand pearl": 20}),
        )
    )
    assert values(found)["price.minutes_per_piece.sewn"] == 0.5
    cautions = {rate.at[-1]: rate.caution for rate in found.rates}
    assert "first guess" in cautions["sewn"]
    assert "one factor" in cautions["template"]


def test_a_kind_with_a_rate_of_its_own_keeps_it():
    # A kind's rate outranks that of the way it is set: written for the way, it would say nothing.
    prices = PriceSettings.model_validate({"minutes_per_piece_of_kind": {"bead": 0.3}})
    found = corrected_rates(log(("setting", 60, {"sewn bead": 120})), prices)
    assert values(found) == {"price.minutes_per_piece_of_kind.bead": 0.5}


def test_speed_trims_and_stops_of_a_machine():
    true = StitchSettings(speed_per_min=480, trim_s=9, stop_s=40)
    jobs = []
    for stitches, trims, stops in ((4000, 10, 3), (900, 60, 2), (1500, 12, 14), (6000, 80, 8)):
        took = stitches / 480 + trims * 9 / 60 + stops * 40 / 60
        jobs.append(("machine", took, {"stitches": stitches, "trims": trims, "stops": stops}))
    found = values(corrected_rates(log(*jobs), marks=true))
    assert found == {"marks.speed_per_min": 480, "marks.trim_s": 9, "marks.stop_s": 40}


def test_of_three_that_disagree_the_odd_one_is_told():
    found = corrected_rates(
        log(*(("pressing", took, {"passes": n}) for took, n in ((60, 1874), (55, 4450), (3.5, 94))))
    )
    assert [each.far for each in found.held] == [False, True, False]


def test_a_job_far_from_the_others_is_told():
    jobs = [("pressing", 20.0, {"passes": 10})] * 4
    found = corrected_rates(log(*jobs, ("pressing", 90.0, {"passes": 10})))
    assert [each.far for each in found.held] == [False] * 4 + [True]
    assert "2 to 3.75 as any one is left out" in found.rates[0].sums


@st.composite
def breakage(draw: st.DrawFn) -> list[tuple[int, int]]:
    return draw(
        st.lists(st.tuples(st.integers(1, 2000), st.integers(0, 60)), min_size=1, max_size=12)
    )


@settings(deadline=None)
@given(breakage(), st.booleans())
def test_spares_would_have_covered_every_job(found: list[tuple[int, int]], entered: bool):
    before = {"bead": Spare(share=Decimal("0.02"), least=3)} if entered else {}
    settings = MaterialSettings(by_kind=before)
    rows = tuple(
        WorkRow(
            n, "broken", did={"bead": pieces}, code="B", broken=min(broken, pieces), target=f"{n}"
        )
        for n, (pieces, broken) in enumerate(found, 1)
    )
    (rate,) = corrected_rates(WorkLog("w", rows), materials=settings).rates
    assert rate.at == ("materials", "by_kind", "bead")
    spare = Spare.model_validate(rate.value)
    assert spare.least == settings.spare("bead").least
    for row in rows:
        assert spare.of(row.did["bead"]) >= row.broken
    if len(rows) < 3:
        assert spare.share >= settings.spare("bead").share


def test_many_pieces_without_a_broken_one_lower_the_spares_to_three_in_all():
    # Hanley and Lippman-Hand, JAMA 249 (1983), the rule of three: 0 of n leaves 3 / n possible.
    rows = tuple(
        WorkRow(n, "broken", did={"stone": 250}, code="R", target=f"{n}") for n in range(4)
    )
    (rate,) = corrected_rates(WorkLog("w", rows)).rates
    assert rate.value == {"share": 0.003, "least": 5}
