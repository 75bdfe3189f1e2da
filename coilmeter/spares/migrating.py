"""Which version a bin has, and the way from an older one to this one.

Migrations are modules of `coilmeter.spares.migrations.versions`, named and in order; alembic
runs them, and is imported only where one is to run.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Select, column, inspect, select, table

FOLDER: Final = Path(__file__).with_name("migrations")
REVISION: Final = "0001"
"""The version that this program reads and writes: the last of the migrations."""

VERSION_TABLE: Final = "coilmeter_version"


def revision_of(connection: Connection) -> str | None:
    """Version of the bin behind a connection; empty where nothing is there at all.

    None where something is there that is no bin.
    """
    names = set(inspect(connection).get_table_names())
    if VERSION_TABLE not in names:
        return None if names else ""
    versions: Select[tuple[Any]] = select(column("version_num")).select_from(
        table(VERSION_TABLE)
    )
    return str(connection.execute(versions).scalar() or "")


def known(revision: str, folder: Path = FOLDER) -> bool:
    """Whether a version is one that the migrations lead on from."""
    from alembic.config import Config  # noqa: PLC0415 - slow, and seldom needed
    from alembic.script import ScriptDirectory  # noqa: PLC0415 - as above

    config = Config()
    config.set_main_option("script_location", _escaped(folder))
    scripts = ScriptDirectory.from_config(config)
    return revision in {script.revision for script in scripts.walk_revisions()}


def migrate(connection: Connection, folder: Path = FOLDER) -> None:
    """Bring the bin to the last version, in the transaction of the connection."""
    from alembic import command  # noqa: PLC0415 - slow, and seldom needed
    from alembic.config import Config  # noqa: PLC0415 - as above

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", _escaped(folder))
    command.upgrade(config, "head")


def _escaped(folder: Path) -> str:
    """Path as an ini file holds it."""
    return str(folder).replace("%", "%%")
