"""The rooms and the doors between them: imports run down only, each library in its room."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

PACKAGE: Final = Path(__file__).parent.parent / "coilmeter"

FLOORS: Final = (
    {"errors"},
    {"units"},
    {"values"},
    {"catalog", "wire", "compute"},
    {"sources", "spares", "report"},
    {"walks"},
    {"library"},
    {"cli"},
)
"""Low to high.  A room may import from lower floors only; those of one floor do not know
each other."""

LIBRARIES: Final = {
    "pint": {"units"},
    "numpy": {"compute", "sources"},
    "scipy": {"compute"},
    "pydantic": {"catalog", "spares"},
    "typing_extensions": {"spares"},
    "sqlalchemy": {"spares"},
    "alembic": {"spares"},
    "tomlkit": {"catalog"},
    "serial": {"sources"},
    "tabulate": {"report"},
    "rich": {"cli"},
    "typer": {"cli"},
    "platformdirs": {"cli"},
    "matplotlib": {"report"},
    "jinja2": {"report"},
    "markupsafe": {"report"},
    "PIL": {"report"},
    "segno": {"report"},
}
"""The rooms in which each third-party library may be imported."""

HEAVY: Final = {"pint", "numpy", "scipy", "matplotlib", "serial", "sqlalchemy", "pydantic"}
LONGEST_FILE: Final = 330


MODULES: Final = sorted(PACKAGE.rglob("*.py"))
EACH: Final = pytest.mark.parametrize(
    "path", MODULES, ids=[str(path.relative_to(PACKAGE)) for path in MODULES]
)

FILES: Final = MODULES + sorted(Path(__file__).parent.rglob("*.py"))
"""Modules of the package, and those of its tests and benchmarks."""


def room_of(path: Path) -> str:
    """Room that a module belongs to: its first folder, or its own name."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports_of(path: Path) -> Iterator[tuple[str, int]]:
    """Full names that a module imports, with the line; imports inside functions too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: a relative import"
            module = node.module or ""
            whole = [f"{module}.{alias.name}" for alias in node.names]
            yield from (
                (name, node.lineno) for name in (whole if module == "coilmeter" else [module])
            )


def floor_of(room: str) -> int:
    """Give the number of the floor a room is on."""
    return next(number for number, rooms in enumerate(FLOORS) if room in rooms)


def test_every_room_has_a_floor() -> None:
    """A new room must be given its floor here."""
    rooms = {room_of(path) for path in MODULES} - {"__init__", "__main__"}

    assert rooms == set().union(*FLOORS)


@EACH
def test_imports_run_down(path: Path) -> None:
    """A module imports from its own room and from lower floors."""
    room = room_of(path)
    if room in {"__init__", "__main__"}:
        return
    upward = [
        f"{path}:{line}: {room} imports {name}"
        for name, line in imports_of(path)
        if name.startswith("coilmeter.")
        and (other := name.split(".")[1]) != room
        and floor_of(other) >= floor_of(room)
    ]

    assert upward == []


@EACH
def test_libraries_stay_in_their_rooms(path: Path) -> None:
    """A third-party library is imported only where it belongs."""
    own = sys.stdlib_module_names | {"coilmeter", "__future__"}
    astray = [
        f"{path}:{line}: {name}"
        for name, line in imports_of(path)
        if (top := name.split(".")[0]) not in own
        and room_of(path) not in LIBRARIES.get(top, set())
    ]

    assert astray == []


@pytest.mark.parametrize("start", ["import coilmeter.cli", "import coilmeter"])
def test_starting_up_loads_nothing_heavy(start: str) -> None:
    """Help and version must not wait for libraries that only a command needs."""
    code = f"{start}; import sys; print(' '.join(sys.modules))"
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert {name.lower() for name in ran.stdout.split()} & HEAVY == set()


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["judge", "--help"]])
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    """The same with the help of every command gathered and shown.

    Typer reads options with pydantic, so that one may come with it.
    """
    code = (
        "import sys; from coilmeter.cli import main; "
        f"code = main({words!r}); sys.stderr.write(' '.join(sys.modules)); sys.exit(code)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert {name.lower() for name in ran.stderr.split()} & HEAVY <= {"pydantic"}


@pytest.mark.parametrize(
    "path", FILES, ids=[str(path.relative_to(PACKAGE.parent)) for path in FILES]
)
def test_files_stay_short(path: Path) -> None:
    """A file that grows past this is about to do two things."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE


@EACH
def test_only_the_command_line_talks(path: Path) -> None:
    """No room below prints or writes to the terminal."""
    if room_of(path) in {"cli", "__main__"}:
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    talk = [
        node.lineno
        for node in ast.walk(tree)
        if (isinstance(node, ast.Name) and node.id == "print")
        or (isinstance(node, ast.Attribute) and node.attr in {"stdout", "stderr"})
    ]

    assert talk == []
