"""``embellish count``: what jobs or an order take, and what to buy for all of them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from embellish.cli.options import AsJson
from embellish.cli.telling import ProgressLine, print_findings, print_json, print_table
from embellish.findings import counted

SHORT = "Count what jobs or an order take, and buy once."
HELP = """Count what one job, several jobs or an order take, and what to buy for all of them.

Example: embellish count moth.toml
Example: embellish count choir-order.toml --out choir-counted

An order is a small TOML file: title, customer, due, and a [[row]] for each garment with person,
size, area, job and quantity, or rows = "LIST.csv" with these as columns. Each layout is laid once.
With --out the folder has the buying list, the shop's sheet with what to cut, sew and pack by
person, and the customer's quote.
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command(help=HELP, short_help=SHORT)
    def count(
        files: Annotated[
            list[Path],
            typer.Argument(metavar="JOB|ORDER", help="Job files, or one order file (TOML)."),
        ],
        out: Annotated[
            Path | None,
            typer.Option("--out", help="A folder to put lists and sheets in.", show_default=False),
        ] = None,
        as_json: AsJson = False,
    ) -> None:
        from embellish.job.orders.counting import count_together
        from embellish.job.orders.made import order_facts, order_files
        from embellish.job.placing import place, refuse_beside

        if out is not None:
            for each in files:
                refuse_beside(out, each)
        with ProgressLine() as progress:
            order = count_together(files, progress.stage)
            facts = order_facts(order)
            if out is not None:
                progress.stage(f"putting the files into {out}")
                place(order_files(order, facts), out)
        if as_json:
            print_json(facts)
            return
        print_findings(order.findings)
        _print_rows(facts)
        _print_buying(facts)
        if out is not None:
            print(f"Lists and sheets in {out}: shop.html, packing.csv, quote.html and others.")


def _print_rows(facts: dict[str, Any]) -> None:
    if len(facts["rows"]) == 1:
        return
    rows = [
        [
            each["person"],
            each["title"],
            each["size"],
            each["area"],
            str(each["quantity"]),
            str(sum(each["pieces"].values())),
        ]
        for each in facts["rows"]
    ]
    print_table(["person", "design", "size", "area", "garments", "pieces each"], rows, right={4, 5})


def _print_buying(facts: dict[str, Any]) -> None:
    from embellish.outputs.pack_words import named

    materials = facts["materials"]
    rows = [
        [
            line["code"],
            str(line["count"]),
            str(line["spare"]),
            str(line["from_stock"]),
            " + ".join(
                f"{pack['quantity']} × {pack.get('amount', pack['pieces'])}"
                for pack in line["packs"]
            )
            or "-",
            line["cost"] or "-",
        ]
        for line in materials["lines"]
    ]
    head = ["code", "all", "spare", "from stock", "packs", materials["currency"]]
    print_table(head, rows, right={1, 2, 3, 5})
    for order in materials.get("orders", []):
        print(f"from {named(order['supplier'])}: {order['value']}, sending {order['shipping']}")
    garments = counted(facts["garments"], "garment")
    currency = materials["currency"]
    print(f"{garments}; pieces to buy: {materials['total'] or 'not known'} {currency}")
    print(f"price: {facts['price'] or 'not known'} {facts['currency']} without tax")


def _packs(packs: list[dict[str, Any]]) -> str:
    """Return packs in words, by what they are sold by."""
    return " + ".join(
        f"{each['quantity']} × {each.get('amount', each['pieces'])}" for each in packs
    )
