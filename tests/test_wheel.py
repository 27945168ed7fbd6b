"""The wheel carries the catalogues and the command works from it, away from the checkout."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.slow
def test_the_wheel_is_whole(tmp_path: Path):
    source = tmp_path / "source"
    source.mkdir()
    for name in ("embellish", "catalogues", "demos"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source / name)
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path, source],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    shipped = {path.relative_to(ROOT / "catalogues") for path in ROOT.glob("catalogues/**/*.toml")}
    assert shipped
    for path in shipped:
        assert f"embellish/shipped/{path.as_posix()}" in names
    packages = {path.parent.relative_to(ROOT) for path in ROOT.glob("embellish/**/*.py")}
    for package in packages:
        assert any(name.startswith(f"{package.as_posix()}/") for name in names), package

    # Installed alone; its requirements come from the environment that runs the tests.
    home = tmp_path / "installed"
    venv.create(home, with_pip=False, system_site_packages=False)
    bin_dir = home / ("Scripts" if sys.platform == "win32" else "bin")
    python = bin_dir / "python"
    site = subprocess.run(
        [python, "-c", "import site; print(site.getsitepackages()[0])"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    outer = subprocess.run(
        [sys.executable, "-c", "import site; print(site.getsitepackages()[0])"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    program = (
        f"import sys; sys.path.append({outer!r})\n"
        # An editable install of the checkout must not answer in place of the wheel.
        "sys.meta_path = [\n"
        "    each for each in sys.meta_path if 'Editable' not in getattr(each, '__name__', '')\n"
        "]\n"
        "from embellish.__main__ import main\n"
        "sys.argv = ['embellish', 'catalogue', 'list', '--json']\n"
        "main()\n"
    )
    listed = subprocess.run(
        [python, "-c", program], check=True, capture_output=True, text=True, cwd=tmp_path
    )
    assert len(json.loads(listed.stdout)) > 50
