"""Open a bundle into a folder of its own: nothing in it is trusted before it was looked at."""

from __future__ import annotations

import hashlib
import io
import json
import posixpath
import re
import shutil
import zipfile
import zlib
from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field

from embellish.errors import JobError, OutputError
from embellish.formats.tables import checked
from embellish.job.bundling import MANIFEST
from embellish.job.disk import refusal, write_through
from embellish.job.files import named_files
from embellish.job.model import Table
from embellish.job.reading import read_job

MOST_FILES: Final = 2_000
MOST_BYTES: Final = 512 * 1024 * 1024
"""More than any job; a zip that claims more is refused before it is unpacked."""


class BundledFile(Table):
    """One file of a bundle."""

    name: str
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class Manifest(Table):
    """embellish-bundle.json: what a bundle holds."""

    format: Literal["embellish-bundle"]
    version: Literal[1]
    job: str
    files: tuple[BundledFile, ...]


def opened_bundle(data: bytes, name: str) -> tuple[str, dict[str, bytes]]:
    """Return the name of a bundle's job, and all its files but the manifest.

    Parameters
    ----------
    data
        The zip.
    name
        As the user knows it, for messages.

    Raises
    ------
    JobError
        Where it is no bundle, is damaged, leads out of its folder, is too large, or lacks a file
        that its job names.
    """
    files = _unzipped(data, name)
    if MANIFEST not in files:
        raise JobError(
            "this zip is not a bundle of embellish", file=name, mend="Name a file made by bundle."
        )
    manifest = _manifest(files.pop(MANIFEST), name)
    hashes = {each.name: each.sha256 for each in manifest.files}
    for each in (*files, *hashes, manifest.job):
        content = files.get(each)
        if content is None or hashes.get(each) != hashlib.sha256(content).hexdigest():
            raise _damaged(name, each)
    job = read_job(files[manifest.job], f"{name}/{manifest.job}")
    for each in named_files(job):
        if posixpath.normpath(each) not in files:
            raise JobError(f"the job names '{each}', which is not in the bundle", file=name)
    return manifest.job, files


def _manifest(data: bytes, name: str) -> Manifest:
    try:
        facts = json.loads(data)
    except ValueError as wrong:
        raise _damaged(name, MANIFEST) from wrong
    if not isinstance(facts, dict):
        raise _damaged(name, MANIFEST)
    version = facts.get("version")
    if type(version) is int and version > 1:
        raise JobError(
            f"this bundle is of version {version}; this program reads up to 1",
            file=name,
            mend="Use a newer embellish.",
        )
    manifest = checked(Manifest, facts, file=name, item=MANIFEST, error=JobError)
    if "/" in manifest.job:
        raise _damaged(name, manifest.job)
    return manifest


def put_down(files: dict[str, bytes], out: Path) -> None:
    """Put all files into a new folder, which stands whole or not at all.

    Raises
    ------
    OutputError
        Where something stands there already, or the disk refuses.
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise OutputError(
            "something stands here already",
            file=str(out),
            mend="Name a new folder with --out.",
        )
    beside = out.with_name(f".{out.name}.new")
    try:
        shutil.rmtree(beside, ignore_errors=True)
        for name, content in files.items():
            write_through(beside / name, content)
        if out.exists():
            out.rmdir()
        beside.rename(out)
    except OSError as wrong:
        raise refusal(wrong, out, "Choose another folder you may write to, with --out.") from wrong
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _unzipped(data: bytes, name: str) -> dict[str, bytes]:
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as wrong:
        raise JobError("this is not a zip, or it is cut short", file=name) from wrong
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise JobError("this zip holds more than any job does, and was not opened", file=name)
    files: dict[str, bytes] = {}
    for entry in entries:
        if not _safe(entry.filename) or entry.filename in files:
            raise JobError(
                f"'{entry.filename}' in this zip has no safe place, and nothing was opened",
                file=name,
            )
        try:
            files[entry.filename] = archive.read(entry)
        except (
            zipfile.BadZipFile,
            zlib.error,
            EOFError,
            RuntimeError,
            NotImplementedError,
            OSError,
        ) as wrong:
            raise _damaged(name, entry.filename) from wrong
    return files


def _safe(name: str) -> bool:
    """Whether a name in a zip stays inside its folder on any system."""
    return not re.search(r"[\\:\x00-\x1f]", name) and all(
        part not in ("", ".", "..") for part in name.split("/")
    )


def _damaged(name: str, inside: str = "") -> JobError:
    return JobError(
        "this bundle is damaged",
        file=name,
        item=inside or None,
        mend="Ask for it again, or take it from another copy.",
    )
