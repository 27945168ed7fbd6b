"""``embellish log``: what jobs truly took, and the rates that follow from it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from embellish.cli.telling import ProgressLine, print_json, print_table

if TYPE_CHECKING:
    from embellish.job.orders.work_logging import Took
    from embellish.plans.rates.correcting import Corrected
    from embellish.plans.rates.work_log import WorkRow

GROUP = """Keep what jobs truly took in a file of its own, and correct your rates by it.

The log is a CSV with a row for each kind of work: minutes, and what was done in them.
"""
ADD_HELP = """Write down what a job or an order took: minutes by kind of work, pieces that broke.

Example: embellish log add work.csv moth.toml --setting-minutes 62 --pressing-minutes 14
Example: embellish log add work.csv moth.toml --setting-minutes hand=40 --setting-minutes sewn=1:15
Example: embellish log add work.csv moth.toml --broken R-SS10-CLEAR=3 --garments 2

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
Example: embellish log rates work.csv --job moth.toml            # beside the rates of that job
Example: embellish log rates work.csv --job moth.toml --write    # put into it, remarks kept

Jobs of different make-up tell the rates apart (least squares, each at least 0); where they are too
few or too alike, the rates keep their proportions and change by one factor, and each line says so.
"""

_TABLES = (
    ("price",),
    ("price", "minutes_per_piece"),
    ("price", "minutes_per_piece_of_kind"),
    ("marks",),
    ("materials", "by_kind"),
)
"""In which order rates are told."""

File = Annotated[Path, typer.Argument(metavar="LOG", help="The work log (CSV).")]
Json = Annotated[bool, typer.Option("--json", help="Print the facts as JSON.")]
Note = Annotated[str, typer.Option("--note", help="Anything to remember.")]


def register(app: typer.Typer) -> None:
    """Add the group of commands."""
    group = typer.Typer(help=GROUP, no_args_is_help=True, rich_markup_mode=None)
    app.add_typer(group, name="log", short_help="Log what jobs took, and correct rates.")
    _register_add(group)
    _register_rest(group)


def _minutes(flag: str, words: str) -> Any:
    return typer.Option(flag, help=words, show_default=False)


def _register_add(group: typer.Typer) -> None:
    @group.command("add", help=ADD_HELP, short_help="What a job took.")
    def add(
        log: File,
        job: Annotated[
            Path, typer.Argument(metavar="JOB|ORDER", help="The file (TOML).", show_default=False)
        ],
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
        as_json: Json = False,
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
        _refuse_nothing(took)
        with ProgressLine() as progress:
            done = done_of(count_together([job], progress.stage), garments)
        _, rows = book(log, done, took, more=more, again=again)
        _tell(rows, as_json=as_json)


def _refuse_nothing(took: Took) -> None:
    """Raise, before a job is laid, where there is nothing to log."""
    from embellish.errors import JobError

    if not took.minutes and not took.setting and took.broken is None:
        raise JobError(
            "nothing that it took is given",
            item="embellish log add",
            mend="Give minutes, such as --setting-minutes 62, or --broken CODE=3.",
        )


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
    def show(log: File, as_json: Json = False) -> None:
        from embellish.job.orders.work_logging import open_work_log

        read = open_work_log(log)
        _tell(read.rows, read.undone, as_json=as_json)

    @group.command("undo", help=UNDO_HELP, short_help="Take an entry back.")
    def undo(
        log: File,
        entry: Annotated[
            int | None, typer.Argument(help="Its number; left out, the last.", show_default=False)
        ] = None,
        note: Note = "",
        as_json: Json = False,
    ) -> None:
        from embellish.job.orders.work_logging import undo as taken_back

        _tell(taken_back(log, entry, note)[1], as_json=as_json)

    @group.command("rates", help=RATES_HELP, short_help="Rates that follow from it.")
    def rates(
        log: File,
        job: Annotated[
            Path | None,
            typer.Option("--job", help="The job whose rates are held against it."),
        ] = None,
        write: Annotated[
            bool, typer.Option("--write", help="Put the rates into that job.")
        ] = False,
        as_json: Json = False,
    ) -> None:
        from embellish.errors import JobError
        from embellish.formats.extras import extra
        from embellish.job.orders.work_logging import open_work_log
        from embellish.job.reading import read_job
        from embellish.job.reading_files import bytes_of
        from embellish.plans.rates.correcting import corrected_rates

        if write and job is None:
            raise JobError("no job is named", item="--write", mend="Name it with --job.")
        read = open_work_log(log)
        if job is None:
            found = corrected_rates(read)
        else:
            asked = read_job(bytes_of(job, JobError, "job file"), str(job))
            found = corrected_rates(read, asked.price, asked.marks, asked.materials)
        if not found.rates:
            raise JobError(
                "nothing holds in this log", file=str(log), mend="Add to it: embellish log add."
            )
        if write and job is not None:
            extra("tomlkit")
            _write(found, job)
        _tell_rates(found, job if write else None, as_json=as_json)


def _write(found: Corrected, job: Path) -> None:
    """Put the rates into a job, as a careful person would."""
    from embellish.job.placing import change_file
    from embellish.job.reading import read_job
    from embellish.workbench.changes import SetValue
    from embellish.workbench.document import changed

    changes = [
        SetValue(do="set", at=list(rate.at), value=_plain(rate.value)) for rate in found.rates
    ]

    def change(data: bytes) -> bytes:
        written = changed(data.decode("utf-8-sig"), changes, str(job)).encode()
        read_job(written, str(job))
        return written

    change_file(job, change)


def _tell(rows: Sequence[WorkRow], undone: frozenset[int] = frozenset(), *, as_json: bool) -> None:
    from embellish.plans.rates.work_log import did_words

    if as_json:
        print_json(
            {
                "entries": [
                    {"entry": row.entry, "what": row.what, "minutes": f"{row.minutes:f}",
                     "did": row.did, "code": row.code, "broken": row.broken, "for": row.target,
                     "note": row.note, "undone": row.entry in undone}
                    for row in rows
                ]
            }
        )  # fmt: skip
        return
    cells = [
        [str(row.entry), f"{row.what}{' (undone)' if row.entry in undone else ''}",
         f"{row.minutes:f}" if row.minutes else "",
         (f"{row.broken} × {row.code}" if row.code else "none") if row.what == "broken" else "",
         did_words(row.did), row.target, row.note]
        for row in _none_broken_together(rows)
    ]  # fmt: skip
    head = ["entry", "what", "minutes", "broken", "did", "for", "note"]
    print_table(head, cells, right={0, 2})


def _none_broken_together(rows: Sequence[WorkRow]) -> list[WorkRow]:
    """Return rows to show: the codes of an entry of which none broke stand in one."""
    from dataclasses import replace

    shown: list[WorkRow] = []
    for row in rows:
        last = shown[-1] if shown else None
        alike = (row.what, row.entry, row.broken) == ("broken", row.entry, 0)
        if last and alike and (last.what, last.entry, last.code) == ("broken", row.entry, ""):
            did = dict(last.did)
            for unit, number in row.did.items():
                did[unit] = did.get(unit, 0) + number
            shown[-1] = replace(last, did=did)
        else:
            shown.append(replace(row, code="") if alike else row)
    return shown


def _tell_rates(found: Corrected, written: Path | None, *, as_json: bool) -> None:
    if as_json:
        print_json(
            {
                "rates": [
                    {"at": list(rate.at), "value": rate.value, "sums": rate.sums,
                     "jobs": rate.jobs, "caution": rate.caution or None}
                    for rate in found.rates
                ],
                "held": [
                    {"entry": each.entry, "for": each.job, "what": each.what,
                     "logged_min": each.logged, "expected_min": round(each.expected, 2),
                     "far": each.far}
                    for each in found.held
                ],
                "written": str(written) if written else None,
            }
        )  # fmt: skip
        return
    table: tuple[str, ...] = ()
    said = ""
    for rate in sorted(found.rates, key=lambda rate: _TABLES.index(rate.at[:-1])):
        if rate.at[:-1] != table:
            print(f"[{'.'.join(rate.at[:-1])}]")
            table, said = rate.at[:-1], ""
        words = "\n".join(f"# {each}." for each in (rate.sums, rate.caution) if each)
        if words != said:
            print(words)
        said = words
        print(f"{rate.at[-1]} = {_toml(rate.value)}")
    if found.held:
        print()
    rows = [
        [str(each.entry), each.what, f"{each.logged:g}", f"{each.expected:.1f}",
         "far from the others: look at it, undo it if it is wrong" if each.far else "", each.job]
        for each in found.held
    ]  # fmt: skip
    if rows:
        head = ["entry", "work", "min logged", "by these rates", "", "for"]
        print_table(head, rows, right={0, 2, 3})
    if written is not None:
        print(f"Wrote these into {written}.")


def _plain(value: float | dict[str, float | int]) -> Any:
    """Return a value as a person enters it: no decimals where they say nothing."""
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return int(value) if float(value).is_integer() else value


def _toml(value: float | dict[str, float | int]) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
    return str(_plain(value))
