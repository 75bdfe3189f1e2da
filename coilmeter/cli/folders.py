"""Where the program keeps what outlasts one command."""

from __future__ import annotations

import os
import stat
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


def own_catalog_files() -> list[Path]:
    """Give the user's own catalog where there is one, else nothing.

    Where its folder may not be entered, nobody knows whether there is one: that is said, and
    the command goes on with what is shipped and named.
    """
    from coilmeter.cli.saying import say

    usual = own_catalog()
    try:
        found = stat.S_ISREG(usual.stat().st_mode)
    except (FileNotFoundError, NotADirectoryError):
        found = False
    except OSError as error:
        found = False
        say(
            f"! {usual}: cannot be looked for ({error.strerror or error}): bands, kinds and "
            "meters of your own are not known here. Give yourself access to the folder, or "
            "name the file with --catalog."
        )
    return [usual] if found else []
