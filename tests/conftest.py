"""What every test runs under: a data folder of its own, so that none meets a user's."""

from __future__ import annotations

import itertools
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from hypothesis import settings

from coilmeter.cli.folders import DATA

SERVER: Final = "COILMETER_TEST_POSTGRESQL"
"""Environment variable with the address of a PostgreSQL database to test the bin on."""

_NUMBERS: Final = itertools.count(1)


# How long a machine takes is no property of the program: speed is measured in benchmarks.
settings.register_profile("coilmeter", deadline=None)
settings.load_profile("coilmeter")


@pytest.fixture(autouse=True, scope="session")
def own_folders() -> Iterator[None]:
    """Keep proofs, bins and catalogs of a test run apart from those of whoever runs it."""
    with (
        tempfile.TemporaryDirectory(prefix="coilmeter-data-") as folder,
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.setenv(DATA, folder)
        # Where some systems look for a user's own catalog; the others have no variable for it.
        patch.setenv("XDG_CONFIG_HOME", folder)
        yield


@pytest.fixture(autouse=True)
def own_data(own_folders: None) -> Iterator[None]:  # noqa: ARG001 - it gives the folder
    """Give each test a bin of its own: a head is the same one in every check of it."""
    whole = os.environ[DATA]
    os.environ[DATA] = str(Path(whole) / str(next(_NUMBERS)))
    yield
    os.environ[DATA] = whole


@pytest.fixture
def proofs_folder(own_data: None) -> Path:  # noqa: ARG001 - it gives the folder
    """Folder in which the proofs of this test are kept; the first of them makes it."""
    return Path(os.environ[DATA]) / "proofs"


@pytest.fixture(params=["file", "server"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Name a place where no bin is yet, as ``--store`` takes it: a file, then a server."""
    if request.param == "file":
        yield str(tmp_path / "bin.sqlite")
        return
    server = os.environ.get(SERVER, "")
    if not server:
        pytest.skip(f"no PostgreSQL to test on: {SERVER} is not set")
    from spares_helpers import schema_on  # noqa: PLC0415 - only where there is a server

    with schema_on(server) as address:
        yield address


def pytest_xdist_auto_num_workers() -> int:
    """One worker more than cores: a third of the time is spent waiting for real seconds."""
    return (os.cpu_count() or 1) + 1
