"""Real drawings for tests: icon sets under free licences, fetched once, never kept in git."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

CACHE = Path(__file__).resolve().parents[1] / ".cache" / "artwork"

VERSIONS = {
    "bootstrap-icons": "1.13.1",  # MIT: filled compound paths, even-odd rules, arcs
    "lucide-static": "0.544.0",  # ISC: stroked paths and basic shapes
}
"""The sets used, and why."""


def icons(package: str, names: list[str] | None = None) -> list[tuple[str, bytes]]:
    """Return (name, SVG bytes) of a set's icons, all in name order where no names are given.

    Skips the test, with a word, where npm or its registry cannot be reached.
    """
    folder = _installed(package) / "icons"
    wanted = sorted(path.stem for path in folder.glob("*.svg")) if names is None else names
    return [(name, (folder / f"{name}.svg").read_bytes()) for name in wanted]


def _installed(package: str) -> Path:
    home = CACHE / f"{package}-{VERSIONS[package]}"
    folder = home / "node_modules" / package
    if (folder / "package.json").exists():
        return folder
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed, so the real drawings cannot be fetched")
    home.mkdir(parents=True, exist_ok=True)
    command = [npm, "install", "--ignore-scripts", "--no-audit", "--no-fund", "--prefix", str(home)]
    try:
        done = subprocess.run(
            [*command, f"{package}@{VERSIONS[package]}"],
            capture_output=True,
            timeout=120,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.skip(f"npm did not deliver {package} in two minutes")
    if done.returncode != 0 or not folder.exists():
        pytest.skip(f"npm could not fetch {package}: {done.stderr.decode(errors='replace')[-200:]}")
    return folder
