"""The reference files are found in a checkout and in an installed package."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from coilmeter.catalog import SHIPPED, load_catalog, reference_folder

ROOT = Path(__file__).parent.parent


def test_reference_files_are_found_in_a_checkout() -> None:
    """Beside the package, where a contributor edits them."""
    assert reference_folder() == ROOT / "reference_data"
    assert load_catalog().bands


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel, as anyone who installs the project does."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    return next(folder.glob("*.whl"))


def test_the_wheel_ships_every_reference_file(wheel: Path) -> None:
    """Each file of the folder is in the wheel, inside the package, with its provenance."""
    names = set(zipfile.ZipFile(wheel).namelist())
    expected = {
        f"coilmeter/reference_data/{path.name}" for path in (ROOT / "reference_data").iterdir()
    }

    assert expected <= names
    assert "coilmeter/units/definitions.txt" in names
    assert "coilmeter/py.typed" in names


def test_an_installed_package_finds_its_own_reference_files(
    wheel: Path, tmp_path: Path
) -> None:
    """Unpacked away from the checkout, it judges with the files that came with it."""
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    code = (
        f"import sys; sys.path.insert(0, {str(tmp_path / 'site')!r});"
        "from coilmeter.catalog import load_catalog, reference_folder;"
        "print(reference_folder()); print(len(load_catalog().bands))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, check=True, capture_output=True, text=True
    )
    folder, bands = ran.stdout.split()

    assert Path(folder) == tmp_path / "site" / "coilmeter" / "reference_data"
    assert int(bands) == len(load_catalog().bands)
    assert {path.name for path in Path(folder).iterdir()} >= set(SHIPPED)
