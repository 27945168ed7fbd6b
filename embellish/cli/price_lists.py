"""``embellish catalogue import`` and ``export``: suppliers' lists in, spreadsheets out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from embellish.cli.options import AsJson
from embellish.cli.telling import print_findings, print_json
from embellish.findings import counted

IMPORT_HELP = """Make a catalogue of a supplier's list (CSV, XLSX), or put it into one of yours.

Which column is which stands in a map, a small file of your own that --write-map starts; a list
written by 'embellish catalogue export' needs none. A row is a pack: rows of one code are its packs.

Example: embellish catalogue import list.xlsx --write-map map.toml
Example: embellish catalogue import list.xlsx --map map.toml --out mine.toml
Example: embellish catalogue import list.xlsx --map map.toml --into mine.toml

With --into the file keeps its comments and whatever the list does not say; pieces that the list
does not have stay. Nothing is written where any row is wrong.
"""

EXPORT_HELP = """Write the pieces of a catalogue as a list (.csv or .xlsx), a row for each pack.

Example: embellish catalogue export my.toml --out my.csv
Example: embellish catalogue export my.toml --out my.csv --write-map map.toml

'embellish catalogue import' reads it back without loss. What is no piece (the catalogue's name and
note, suppliers' terms, units) is in no list: --write-map keeps it in a small file, and
'import --map' takes it from there.
"""

Over = Annotated[bool, typer.Option("--over", help="Write over a file that is there.")]


def add_lists(group: typer.Typer) -> None:
    """Add both commands to their group."""

    @group.command("import", help=IMPORT_HELP, short_help="Read a supplier's list.")
    def import_list(
        source: Annotated[
            Path, typer.Argument(metavar="LIST", help="A list, CSV or XLSX.", show_default=False)
        ],
        by: Annotated[Path | None, typer.Option("--map", help="The map of its columns.")] = None,
        out: Annotated[Path | None, typer.Option("--out", help="The new catalogue.")] = None,
        into: Annotated[
            Path | None, typer.Option("--into", help="A catalogue of yours to put it into.")
        ] = None,
        write_map: Annotated[
            Path | None, typer.Option("--write-map", help="Start a map for this list.")
        ] = None,
        over: Over = False,
        as_json: AsJson = False,
    ) -> None:
        from embellish.errors import CatalogueError

        asked = [each for each in (out, into, write_map) if each is not None]
        if len(asked) != 1:
            raise CatalogueError(
                "say where it goes, in one way",
                mend="Give --out NEW.toml, --into YOURS.toml, or --write-map MAP.toml.",
            )
        if write_map is not None:
            _write_map(source, write_map, over=over)
        else:
            _import(source, by, out, into, over=over, as_json=as_json)

    @group.command("export", help=EXPORT_HELP, short_help="Write a list for a spreadsheet.")
    def export_list(
        catalogue: Annotated[
            str, typer.Argument(help="A catalogue file, or a shipped one.", show_default=False)
        ],
        out: Annotated[Path, typer.Option("--out", help="The list, .csv or .xlsx.")],
        write_map: Annotated[
            Path | None,
            typer.Option("--write-map", help="Where to keep what is in no list, for reading it."),
        ] = None,
        over: Over = False,
        as_json: AsJson = False,
    ) -> None:
        _export(catalogue, out, write_map, over=over, as_json=as_json)


def _export(
    catalogue: str, out: Path, write_map: Path | None, *, over: bool, as_json: bool
) -> None:
    from embellish.errors import OutputError
    from embellish.job.catalogue_files import open_catalogue
    from embellish.job.files import refuse_over
    from embellish.job.placing import change_file
    from embellish.job.price_lists import exported, rest_text

    if write_map is not None and write_map.resolve() == out.resolve():
        raise OutputError(
            "list and map cannot be one file", file=str(out), mend="Name the map otherwise."
        )
    opened = open_catalogue(catalogue)
    content, rest = exported(opened, out), rest_text(opened, out)
    kept = write_map if rest else None
    for target in filter(None, (out, kept)):
        refuse_over(target, [Path(catalogue)], "the list is made from this file", over=over)
    change_file(out, lambda _: content)
    if kept is not None:
        change_file(kept, lambda _: rest.encode())
    if as_json:
        files = {"file": str(out), "map": None if kept is None else str(kept)}
        print_json({"pieces": len(opened.pieces), **files})
        return
    print(f"{out}: {counted(len(opened.pieces), 'piece')}")
    if kept is not None:
        print(f"{kept}: name, note, terms and units, for embellish catalogue import --map")
    elif rest:
        print(
            "Its name, note, suppliers' terms and units are not in the list:"
            " --write-map MAP.toml keeps them beside it."
        )
    elif write_map is not None:
        print("No map is needed: the list says all of it.")


def _write_map(source: Path, target: Path, *, over: bool) -> None:
    from embellish.job.files import refuse_over
    from embellish.job.placing import change_file
    from embellish.job.price_lists import map_text

    text = map_text(source)
    refuse_over(target, [source], "this is the list itself", over=over)
    change_file(target, lambda _: text.encode())
    print(f"{target}: read it through, then: embellish catalogue import {source} --map {target}")


def _import(
    source: Path, by: Path | None, out: Path | None, into: Path | None, *, over: bool, as_json: bool
) -> None:
    from embellish.job.files import refuse_over
    from embellish.job.placing import change_file
    from embellish.job.price_lists import Updated, new_catalogue, open_list, updated_catalogue

    read, how = open_list(source, by)
    facts: dict[str, object] = {"pieces": len(read.pieces), "passed_over": read.passed_over}
    said: list[str] = []
    if out is not None:
        content = new_catalogue(read, how, str(out))
        own = [each for each in (source, by) if each is not None]
        refuse_over(out, own, "the catalogue is made from this file", over=over)
        change_file(out, lambda _: content)
        said.append(f"{out}: {counted(len(read.pieces), 'piece')}")
    elif into is not None:
        done: list[Updated] = []

        def put(before: bytes) -> bytes:
            done.append(updated_catalogue(before, read, how, str(into)))
            return done[0].content

        change_file(into, put)
        new = done[0]
        facts |= {"changed": new.changed, "new": new.new, "not_listed": new.not_listed}
        facts |= {"terms": new.terms, "units": new.units}
        said.append(
            f"{into}: {counted(len(new.changed), 'piece')} changed, {len(new.new)} new,"
            f" {len(new.not_listed)} of yours are not in the list and stay"
        )
        if new.terms:
            said.append(f"Terms of {', '.join(new.terms)}: as the map says.")
        if new.units:
            said.append(f"Units {', '.join(new.units)}: as the map says.")
    if as_json:
        print_json({**facts, "findings": [each.as_json() for each in read.findings]})
        return
    print_findings(read.findings)
    if read.passed_over:
        said.append(f"{counted(read.passed_over, 'row')} passed over, as the map says.")
    print("\n".join(said))
