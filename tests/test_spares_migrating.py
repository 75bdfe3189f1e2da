"""Versions of the bin: what migrations make, and what becomes of older and newer ones."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from spares_helpers import counts, measured, open_bin, put_heads
from sqlalchemy import column, inspect, table, text

from coilmeter.errors import (
    StoreError,
)
from coilmeter.spares import migrating
from coilmeter.spares.migrating import FOLDER, REVISION, VERSION_TABLE, known
from coilmeter.spares.schema import METADATA

HEAD: Final = measured("T-01", 171.3, 172.0)
NEXT: Final = "0002"
MIGRATION: Final = '''
"""Another column, in a version to come."""
import sqlalchemy as sa
from alembic import op
revision = "0002"
down_revision = "0001"
def upgrade() -> None:
    """Add it."""
    op.add_column("heads", sa.Column("colour", sa.Text(), server_default="grey"))
'''


def test_the_migrations_make_the_tables_of_the_program(store: str) -> None:
    """What alembic finds different between both is nothing."""
    with open_bin(store) as shelf, shelf.read() as connection:
        options = {
            "version_table": VERSION_TABLE,
            "compare_type": True,
            "compare_server_default": True,
        }
        context = MigrationContext.configure(connection, opts=options)
        different = compare_metadata(context, METADATA)

    assert [] == different


def test_the_program_knows_the_last_migration() -> None:
    """The number in the code is that of the newest file, and every file has its number."""
    files = sorted(path.name for path in (FOLDER / "versions").glob("v*.py"))

    assert files[-1].startswith(f"v{REVISION}_")
    assert known(REVISION)
    assert not known("9999")
    assert [f"v{number:04d}" for number in range(1, len(files) + 1)] == [
        name[:5] for name in files
    ]


def test_a_newer_bin_is_refused(store: str) -> None:
    """Of a version that this program does not know, with what to do."""
    with open_bin(store) as shelf, shelf.write() as connection:
        connection.execute(
            table(VERSION_TABLE, column("version_num")).update().values(version_num="9999")
        )
    with pytest.raises(StoreError, match="newer coilmeter") as caught:
        open_bin(store)

    assert "up to date" in caught.value.hint


def later(folder: Path, monkeypatch: pytest.MonkeyPatch, migration: str = MIGRATION) -> None:
    """Have the program know a version more than it does."""
    shutil.copytree(FOLDER, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "v0002_later.py").write_text(migration)
    monkeypatch.setattr(migrating, "FOLDER", folder)
    monkeypatch.setattr(migrating, "REVISION", NEXT)
    monkeypatch.setattr(migrating.migrate, "__defaults__", (folder,))
    monkeypatch.setattr(migrating.known, "__defaults__", (folder,))


def test_an_older_bin_is_brought_up_to_date(
    store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its records stay, the migration has run, and a file has a copy beside it from before."""
    with open_bin(store) as shelf:
        put_heads(shelf, HEAD)
        before = counts(shelf)
    later(tmp_path / "migrations", monkeypatch)
    with open_bin(store, create=False) as shelf, shelf.read() as connection:
        colours = connection.execute(text("SELECT colour FROM heads")).scalars().all()
        version = migrating.revision_of(connection)
        after = counts(shelf)

    assert ["grey"] == colours
    assert NEXT == version
    assert before == after
    if "://" not in store:
        (copy,) = tmp_path.glob(f"bin.sqlite.{REVISION}-*")
        monkeypatch.undo()
        with open_bin(str(copy), create=False) as shelf:
            assert before == counts(shelf)


def test_a_migration_that_fails_leaves_the_bin_as_it_was(
    store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it did before it failed is undone, the version with it."""
    with open_bin(store) as shelf:
        put_heads(shelf, HEAD)
        before = counts(shelf)
    broken = f"{MIGRATION}    op.drop_table('no_such_table')\n"
    later(tmp_path / "migrations", monkeypatch, broken)
    with pytest.raises(StoreError, match="no_such_table"):
        open_bin(store, create=False)
    monkeypatch.undo()
    with open_bin(store, create=False) as shelf, shelf.read() as connection:
        columns = {each["name"] for each in inspect(connection).get_columns("heads")}
        after = counts(shelf)

    assert "colour" not in columns
    assert before == after
