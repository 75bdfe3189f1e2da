"""Where the program keeps what outlasts one command."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

DATA: Final = "COILMETER_DATA"
"""Environment variable that names another folder."""


def data_folder() -> Path:
    """Folder of the user's meter proofs and bin; it need not exist yet."""
    chosen = os.environ.get(DATA, "")
    if chosen:
        return Path(chosen)
    import platformdirs

    return platformdirs.user_data_path("coilmeter")


def own_catalog() -> Path:
    """File of the user's own bands, kinds and meters; it need not exist yet."""
    import platformdirs

    return platformdirs.user_config_path("coilmeter") / "catalog.toml"
