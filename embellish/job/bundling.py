"""One zip with all a job is made from: to send, to store, to make again elsewhere, years later.

It holds the job, its artwork, its own catalogues and whatever else it names, the layout kept with
the catalogue rows used, and what was delivered. The same job gives the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from embellish.errors import EmbellishError, JobError
from embellish.formats.tables import parsed_toml
from embellish.job.delivering import delivered_path
from embellish.job.files import OpenJob, named_files
from embellish.job.inside import inside
from embellish.job.names import safe_names

MANIFEST: Final = "embellish-bundle.json"
BROUGHT: Final = "brought"
"""Folder of a bundle for files from outside the job's own folder."""
_LONG_AGO: Final = (1980, 1, 1, 0, 0, 0)
"""The first date a zip can hold: no clock decides its bytes."""


def bundled(opened: OpenJob, kept: Mapping[Path, bytes]) -> bytes:
    """Return a job with all it is made from as a zip.

    Parameters
    ----------
    kept
        Files of kept layouts to go with it, by the path they have beside the job.

    Raises
    ------
    JobError
        Where a file it names cannot be read, or lies elsewhere and cannot be brought along.
    """
    folder, job_name = opened.path.parent, opened.path.name
    files: dict[str, bytes] = {}
    moved: dict[str, str] = {}
    for name in named_files(opened.job):
        beside = inside(name)
        if beside is None:
            moved[name] = ""
        else:
            files[beside] = _read(folder / name)
    outside = {name: _read(folder / name) for name in moved}
    plain = safe_names(Path(name).name for name in outside)
    for (name, content), safe in zip(outside.items(), plain, strict=True):
        moved[name] = f"{BROUGHT}/{safe}"
        files[moved[name]] = content
    files[job_name] = _renamed(_read(opened.path), moved, str(opened.path))
    files |= {path.name: content for path, content in kept.items()}
    record = delivered_path(opened.path)
    if record.exists():
        files[record.name] = _read(record)
    manifest = {
        "format": "embellish-bundle",
        "version": 1,
        "job": job_name,
        "files": [
            {"name": name, "sha256": hashlib.sha256(files[name]).hexdigest()}
            for name in sorted(files)
        ],
    }
    text = json.dumps(manifest, indent=1, ensure_ascii=False) + "\n"
    return _zipped({MANIFEST: text.encode(), **{name: files[name] for name in sorted(files)}})


def _zipped(files: Mapping[str, bytes]) -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, _LONG_AGO)
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content, zipfile.ZIP_DEFLATED, 9)
    return whole.getvalue()


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as wrong:
        raise JobError(
            f"cannot be read: {wrong.strerror or wrong}", file=str(path), mend="Bring it back."
        ) from wrong


def _renamed(text: bytes, names: Mapping[str, str], job: str) -> bytes:
    """Return the job's text with other names of files, everything else as its maker wrote it.

    Raises
    ------
    JobError
        Where the text alone does not show how to.
    """
    if not names:
        return text
    words = text.decode("utf-8-sig")
    for old, new in names.items():
        for quoted in (json.dumps(old, ensure_ascii=False), f"'{old}'"):
            words = words.replace(quoted, json.dumps(new, ensure_ascii=False))
    before = parsed_toml(text, job, JobError)
    try:
        after = parsed_toml(words.encode(), job, JobError)
    except EmbellishError:
        after = {}
    if after != _with_names(before, names):
        shown = ", ".join(names)
        raise JobError(
            f"{shown} lies outside the job's folder and cannot be brought along",
            file=job,
            mend="Copy it into the job's folder and name it from there.",
        )
    return words.encode()


def _with_names(table: dict[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    """Return the tables of a job with other names, exactly where a job names files."""

    def of(each: Any) -> Any:
        return {**each, "file": names.get(each["file"], each["file"])} if "file" in each else each

    changed = dict(table)
    for key in ("artwork", "base"):
        if key in table:
            changed[key] = of(table[key])
    if "lettering" in table:
        changed["lettering"] = [
            {**each, "font": names.get(each["font"], each["font"])} for each in table["lettering"]
        ]
    if "size" in table:
        changed["size"] = [of(each) for each in table["size"]]
    if "catalogues" in table:
        changed["catalogues"] = [names.get(each, each) for each in table["catalogues"]]
    return changed
