"""``embellish log``: what jobs truly took, and the rates that follow from it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from embellish.cli.ending import Commands
from embellish.cli.log_telling import plain, print_entries, print_rates
from embellish.cli.options import AsJson, JobOrOrder, Note, WhichEntry
from embellish.cli.telling import ProgressLine

if TYPE_CHECKING:
    from embellish.plans.rates.rate import Rate

GROUP = """Keep what jobs truly took in a file of its own, and correct your rates by it.

Example: embellish log rates work.csv

The log is a CSV with a row for each kind of work: minutes, and what was done in them.
"""
ADD_HELP = """Write down what a job or an order took: minutes by kind of work, pieces that broke.

Example: embellish log add work.csv moth.toml --setting-minutes 62
Example: embellish log add work.csv moth.toml --setting-minutes sewn=1:15
Example: embellish log add work.csv moth.toml --broken R-SS10-CLEAR=3

Give what you measured and leave out the rest. What was done is counted from the job as it is now,
so log it while it is the one that was made. Minutes are written 62.5, or 1:02 for hours.
"""
SHOW_HELP = """Show every entry.

Example: embellish log show work.csv
"""
UNDO_HELP = """Take back the last entry, or one by its number; the file keeps both.

Example: embellish log undo work.csv
"""
RATES_HELP = """Work out your rates from a log: the lines to put into a job, each with its sum.

Example: embellish log rates work.csv
Example: embellish log rates work.csv --job moth.toml
Example: embellish log rates work.csv --job moth.toml --write

With --job they stand beside the rates of that job, or an order's own; --write puts them into it
and keeps remarks.

Jobs of different make-up tell the rates apart (least squares, each at least 0); where they are too
few or too alike, the rates keep their proportions and change by one factor, and each line says so.
"""

File = Annotated[Path, typer.Argument(metavar="LOG", help="The work log (CSV).")]


def register(app: typer.Typer) -> None:
    """Add the group of commands."""
    group = typer.Typer(cls=Commands, help=GROUP, no_args_is_help=True, rich_markup_mode=None)
    app.add_typer(group, name="log", short_help="Log what jobs took, and correct rates.")
    _register_add(group)
    _register_rest(group)


def _minutes(flag: str, words: str) -> Any:
    return typer.Option(flag, help=words, show_default=False)


def _register_add(group: typer.Typer) -> None:
    @group.command("add", help=ADD_HELP, short_help="What a job took.")
    def add(
        log: File,
        job: JobOrOrder,
        setting: Annotated[
            list[str] | None,
            _minutes(
                "--setting-minutes",
                "Setting pieces, in all; or WAY=MINUTES, KIND=MINUTES, given for each.",
            ),
        ] = None,
        machine: Annotated[str, _minutes("--machine-minutes", "The machine's, watched.")] = "",
        pressing: Annotated[str, _minutes("--pressing-minutes", "Laying in, pressing.")] = "",
        setup: Annotated[str, _minutes("--setup-minutes", "Once for the job.")] = "",
        garment: Annotated[str, _minutes("--garment-minutes", "Hooping, packing, of all.")] = "",
        broken: Annotated[
            list[str] | None,
            typer.Option("--broken", help="Broken or lost; for each code.", metavar="CODE=PIECES"),
        ] = None,
        none_broken: Annotated[
            bool, typer.Option("--none-broken", help="They were counted, and none broke.")
        ] = False,
        garments: Annotated[
            int | None,
            typer.Option("--garments", min=1, max=100_000, help="How many, if not the quantity."),
        ] = None,
        more: Annotated[
            bool, typer.Option("--more", help="Further time on the garments logged before.")
        ] = False,
        again: Annotated[
            bool, typer.Option("--again", help="The same garments were made once more.")
        ] = False,
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import JobError
        from embellish.job.orders.counting import count_together
        from embellish.job.orders.work_logging import Took, book, done_of

        for one, other, both in (
            ("--more", "--again", more and again),
            ("--broken", "--none-broken", bool(broken) and none_broken),
        ):
            if both:
                raise JobError(
                    f"{one} and {other} are both given", item=other, mend="Keep one of them."
                )
        given = {"machine": machine, "pressing": pressing, "setup": setup, "garments": garment}
        minutes, apart = _timed(given, setting or ())
        pieces = _pieces(broken or ()) if broken or none_broken else None
        took = Took(minutes, apart, pieces, note)
        with ProgressLine() as progress:
            done = done_of(count_together([job], progress.stage), garments)
        _, rows = book(log, done, took, more=more, again=again)
        print_entries(rows, as_json=as_json)


def _timed(
    given: dict[str, str], setting: Sequence[str]
) -> tuple[dict[str, Decimal], dict[str, Decimal]]:
    """Return minutes by kind of work, and those of setting by way or kind of piece."""
    from embellish.errors import JobError
    from embellish.plans.rates.work_log import read_minutes

    flags = {"garments": "--garment-minutes"}
    minutes = {
        what: read_minutes(cell, flags.get(what, f"--{what}-minutes"))
        for what, cell in given.items()
        if cell
    }
    apart: dict[str, Decimal] = {}
    for cell in setting:
        word, equals, value = cell.rpartition("=")
        taken = apart if equals else minutes
        key = word.strip() if equals else "setting"
        if key in taken:
            raise JobError(
                f"'{key}' is given twice", item="--setting-minutes", mend="Keep one of them."
            )
        taken[key] = read_minutes(value.strip(), "--setting-minutes")
    return minutes, apart


def _pieces(broken: Sequence[str]) -> dict[str, int]:
    from embellish.errors import JobError

    found: dict[str, int] = {}
    for cell in broken:
        code, _, number = cell.rpartition("=")
        if not code or not (number.isascii() and number.isdecimal()) or len(number) > 9:
            raise JobError(
                f"'{cell}' is not a code and how many broke",
                item="--broken",
                mend="Write it such as --broken R-SS10-CLEAR=3.",
            )
        if code in found:
            raise JobError(f"'{code}' is given twice", item="--broken", mend="Keep one of them.")
        found[code] = int(number)
    return found


def _register_rest(group: typer.Typer) -> None:
    @group.command("show", help=SHOW_HELP, short_help="Every entry.")
    def show(log: File, as_json: AsJson = False) -> None:
        from embellish.job.orders.work_logging import open_work_log

        read = open_work_log(log)
        print_entries(read.rows, read.undone, as_json=as_json)

    @group.command("undo", help=UNDO_HELP, short_help="Take an entry back.")
    def undo(
        log: File,
        entry: WhichEntry = None,
        note: Note = "",
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.orders.work_logging import undo as taken_back

        print_entries(taken_back(log, entry, note)[1], as_json=as_json)

    @group.command("rates", help=RATES_HELP, short_help="Rates that follow from it.")
    def rates(
        log: File,
        job: Annotated[
            Path | None,
            typer.Option("--job", help="The job or order whose rates are held against it."),
        ] = None,
        write: Annotated[
            bool, typer.Option("--write", help="Put the rates into that file.")
        ] = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import JobError
        from embellish.formats.extras import extra
        from embellish.job.orders.rate_writing import rates_of, write_rates
        from embellish.job.orders.work_logging import open_work_log
        from embellish.plans.rates.correcting import corrected_rates

        if write and job is None:
            raise JobError("no job is named", item="--write", mend="Name it with --job.")
        read = open_work_log(log)
        if job is None:
            found = corrected_rates(read)
        else:
            asked = rates_of(job)
            found = corrected_rates(read, asked.price, asked.marks, asked.materials)
        if not found.rates:
            raise JobError(
                "nothing holds in this log", file=str(log), mend="Add to it: embellish log add."
            )
        left: tuple[Rate, ...] = ()
        if write and job is not None:
            extra("tomlkit")
            left = write_rates(job, found.rates, [plain(rate.value) for rate in found.rates])
        print_rates(found, job if write else None, left, as_json=as_json)
