"""How much breaks or is lost, by kind of piece, and the spares that would have covered it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, Decimal
from typing import Final, cast

from scipy.stats import chi2

from embellish.catalogue.piece import Kind
from embellish.findings import counted
from embellish.plans.material_settings import MaterialSettings
from embellish.plans.money import product, quotient, rounded
from embellish.plans.rates.rate import Rate, few_words
from embellish.plans.rates.work_log import WorkRow

_STEP: Final = Decimal("0.001")


def spare_rates(rows: Iterable[WorkRow], settings: MaterialSettings) -> tuple[Rate, ...]:
    """Return spares by kind: enough for every code of every job, and for what may yet break.

    No share is lowered by few jobs, nor below what a log cannot rule out; and none is raised by a
    log's being short.

    Parameters
    ----------
    rows
        What holds of the log; of each code of a job, how many were set and how many broke.
    settings
        The least number of spares in force stays as it is.
    """
    by_kind: dict[Kind, list[tuple[str, int, int]]] = {}
    for row in rows:
        if row.what == "broken":
            ((kind, number),) = row.did.items()
            by_kind.setdefault(cast("Kind", kind), []).append((row.target, number, row.broken))
    return tuple(_of_kind(kind, found, settings) for kind, found in sorted(by_kind.items()))


def _of_kind(kind: Kind, found: list[tuple[str, int, int]], settings: MaterialSettings) -> Rate:
    now = settings.spare(kind)
    pieces, broken = sum(each[1] for each in found), sum(each[2] for each in found)
    pooled = quotient(Decimal(broken), pieces)
    covering = [quotient(Decimal(lost), number) for _, number, lost in found if lost > now.least]
    jobs = len({job for job, _, _ in found})
    few = few_words(jobs)
    may_be = now.share if few else min(_at_most(broken, pieces), now.share)
    why = "the share so far" if may_be == now.share else "which so many pieces do not rule out"
    share = max([pooled, may_be, *covering]).quantize(_STEP, rounding=ROUND_CEILING)
    worst = max(found, key=lambda each: quotient(Decimal(each[2]), each[1]))
    sums = (
        f"{broken} of {pieces} broke or were lost, {_percent(pooled)}, in {counted(jobs, 'job')};"
        f" {worst[2]} of {worst[1]} where most did. Enough for each code of each job, and for"
        f" {_percent(may_be)}, {why}"
    )
    table = {"share": float(share), "least": now.least}
    return Rate(("materials", "by_kind", kind), table, sums, jobs, few)


def _at_most(broken: int, pieces: int) -> Decimal:
    """Return the largest share by which no more would break in one of twenty such logs.

    Where none broke, it is 3 of all that were set: Hanley and Lippman-Hand, 'If nothing goes
    wrong, is everything all right?', JAMA 249, 1983 (from memory).
    """
    return Decimal(f"{chi2.ppf(0.95, 2 * broken + 2) / 2.0 / pieces:.6f}")


def _percent(share: Decimal) -> str:
    return f"{rounded(product(share, 100), Decimal('0.1')):f} %"
