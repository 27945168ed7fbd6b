"""The sheet of all names: each as it will be, to be read letter by letter and signed off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from embellish.formats.html import Element, element, page, picture, table

_STYLE = """
@page { size: A4; margin: 14mm }
body { font: 10.5pt/1.4 system-ui, sans-serif; color: #1d1f24; max-width: 190mm; margin: 8mm auto }
h1 { font-size: 17pt; margin: 0 }
.names { display: grid; grid-template-columns: 1fr 1fr; gap: 6mm; margin: 6mm 0 }
.name { border: 0.3mm solid #c9ccd3; padding: 3mm; break-inside: avoid }
.name h2 { font-size: 13pt; margin: 0 0 2mm; white-space: pre-line; overflow-wrap: anywhere }
.name img { width: 100%; max-height: 60mm; object-fit: contain }
.name p { margin: 1.5mm 0 0; color: #5d6270 }
.sign { margin-top: 2mm; border-top: 0.2mm solid #c9ccd3; padding-top: 1.5mm }
.stop { color: #b3261e; font-weight: 700 }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; padding: 1mm 2mm; border-bottom: 0.2mm solid #c9ccd3 }
.n { text-align: right }
@media print { body { margin: 0; max-width: none } }
"""


@dataclass(frozen=True, eq=False)
class NameEntry:
    """One name on the sheet."""

    name: str
    line: int
    quantity: int
    seats: int
    size_mm: tuple[float, float]
    folder: str
    fingerprint: str
    note: str
    stopped: bool
    png: bytes


def names_html(
    title: str, entries: Sequence[NameEntry], bought: Sequence[tuple[str, str, int]]
) -> bytes:
    """Return the sheet.

    Parameters
    ----------
    title
        Of the job.
    entries
        In the order of the list.
    bought
        Code, name and count of each piece that all of them take together.
    """
    garments = sum(entry.quantity for entry in entries)
    return page(
        f"Names · {title}",
        _STYLE,
        element("h1", title),
        element(
            "p",
            f"{len(entries)} names, {garments} garments. Read each name letter by letter, as it is"
            " written on the order: what is signed here is what is cut, sewn and set.",
        ),
        element("div", *(_entry(entry) for entry in entries), class_="names"),
        element("h2", "Pieces for all of them"),
        table(
            ("code", "piece", "count"),
            [(code, name, str(count)) for code, name, count in bought],
            frozenset({2}),
        ),
        element("p", "Approved by ______________________________   Date ____________________"),
    )


def _entry(entry: NameEntry) -> Element:
    width, height = entry.size_mm
    words = f"{entry.seats} seats · {width:.0f} × {height:.0f} mm · {entry.quantity}×"
    parts = [
        element("h2", entry.name),
        picture(entry.png, f"How {entry.name} will look"),
        element("p", f"{words} · folder {entry.folder} · layout {entry.fingerprint}"),
    ]
    if entry.note:
        parts.append(element("p", entry.note))
    if entry.stopped:
        parts.append(element("p", "An error stands: NOT TO BE MADE", class_="stop"))
    parts.append(element("p", f"☐ as ordered    line {entry.line} of the list", class_="sign"))
    return element("section", *parts, class_="name")
