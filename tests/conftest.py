"""What every test runs under: a data folder of its own, so that none meets a user's."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator

import pytest

from coilmeter.cli.folders import DATA


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
