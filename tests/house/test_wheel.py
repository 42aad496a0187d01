"""What a user installs is what the tree holds, and it works with nothing of the tree around it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.tree import ROOT, project_files

# Invented for this test: eight rounds, the rub about four percent farther.
BARE = (2.91, 3.02, 2.87, 2.95, 3.10, 2.99, 2.90, 3.05)
RUBBED = (3.01, 3.15, 2.99, 3.09, 3.20, 3.14, 3.00, 3.19)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built as for a release, but with the tools of this environment."""
    folder = tmp_path_factory.mktemp("dist")
    told = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stdout + told.stderr
    (built,) = folder.glob("evenglide-*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel installed into it and nothing else."""
    site = tmp_path_factory.mktemp("site")
    pip = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        "--target",
        site,
        wheel,
    ]
    told = subprocess.run(pip, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    return site


def run(installed: Path, folder: Path, *words: str) -> str:
    """Run the installed `evenglide` in `folder`; what it printed."""
    told = subprocess.run(
        [installed / "bin" / "evenglide", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(installed), "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stdout + told.stderr
    return told.stdout


def test_wheel_holds_the_package_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info/" not in name}
    tree = {path.relative_to(ROOT / "src").as_posix() for path in project_files("src")}
    assert "evenglide/py.typed" in tree
    assert names == tree


def test_wheel_carries_licence_and_command(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        about = {
            name.partition(".dist-info/")[2]: name for name in archive.namelist() if ".dist-info/" in name
        }
        licence = archive.read(about["licenses/LICENSE"]).decode()
        commands = archive.read(about["entry_points.txt"]).decode()
    assert licence == (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "evenglide = evenglide.cli.main:main" in commands


def test_installed_package_is_the_one_that_runs(installed: Path, tmp_path: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-c", "import evenglide; print(evenglide.__file__)"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(told.stdout.strip()).is_relative_to(installed)


def test_installed_evenglide_judges_a_table(installed: Path, tmp_path: Path) -> None:
    rows = [
        f"{block},bare,{bare}\n{block},rub,{rub}"
        for block, (bare, rub) in enumerate(zip(BARE, RUBBED, strict=True))
    ]
    (tmp_path / "launches.csv").write_text("round,treatment,glide_m\n" + "\n".join(rows) + "\n")
    words = ["judge", "launches.csv", "--response", "glide_m", "--treatment", "treatment", "--block", "round"]
    answer = json.loads(run(installed, tmp_path, *words, "--json"))
    assert answer["format"] == "evenglide.answer/1"
    assert answer["surfaces"][0]["contrasts"][0]["treatment"] == "rub"


def test_installed_evenglide_shows_its_demo_from_an_empty_folder(installed: Path, tmp_path: Path) -> None:
    printed = run(installed, tmp_path, "demo", "--no-browser")
    reports = list((tmp_path / "evenglide-demo").rglob("*.html"))
    assert reports
    assert any(report.name in printed for report in reports)
    assert [path.name for path in tmp_path.iterdir()] == ["evenglide-demo"]
