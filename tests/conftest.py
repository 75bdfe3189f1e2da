"""What every test runs under: a data folder of its own, so that none meets a user's."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator

import pytest

from coilmeter.cli.folders import DATA


@pytest.fixture(autouse=True, scope="session")
def own_data_folder() -> Iterator[None]:
    """Keep proofs and bins of a test run apart from those of whoever runs it."""
    before = os.environ.get(DATA)
    with tempfile.TemporaryDirectory(prefix="coilmeter-data-") as folder:
        os.environ[DATA] = folder
        yield
    if before is None:
        del os.environ[DATA]
    else:
        os.environ[DATA] = before
