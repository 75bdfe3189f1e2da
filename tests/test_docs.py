"""The documentation: fresh where it is generated, true where it shows an output, whole."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
import typer
from docs_pages import DOCS, ROOT, page, section, tables
from helpers import cli

from coilmeter.cli.main import STOPPED, make_app
from coilmeter.compute.cautions import BEFORE_MEASURING, DEMAGNETISE
from coilmeter.errors import InputError, MeterError, StoreError

PAGES: Final = sorted(DOCS.rglob("*.md"))
WITH_LINKS: Final = [*PAGES, ROOT / "README.md", ROOT / "DEVELOPERS.md"]
GENERATED: Final = {"catalog.md", "chain-tests.md", "cli.md", "formats.md"}
UNDER_TEST: Final = [
    path
    for path in PAGES
    if path.name in GENERATED or "\n```console\n" in path.read_text(encoding="utf-8")
]
OF_NO_COMMAND: Final = {"--check", "--help"}
"""Options that pages name and that belong to no command: of docs/generate.py, of all."""

BLOCK: Final = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
MACHINE_WORDS: Final = re.compile(
    r"(?:/home|/root|/Users|/tmp|/var)/|\b[A-Z]:\\\\?Users|https?://|\blocalhost\b|127\.0\.0\.1"
)
"""What only one machine has, or what leads off it."""


def name_of(path: Path) -> str:
    """Name a file as seen from the checkout, for the names of tests."""
    return path.relative_to(ROOT).as_posix()


def generate(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the generator of a docs folder, warnings as errors."""
    return subprocess.run(
        [sys.executable, "-W", "error", str(folder / "generate.py"), *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )


def commands() -> dict[str, Any]:
    """All commands by name; the classes behind them are no promise of typer's, hence Any."""
    return dict(_named(typer.main.get_command(make_app()), ""))


def _named(group: Any, before: str) -> Iterator[tuple[str, Any]]:
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from _named(command, f"{before}{name} ")
        else:
            yield f"{before}{name}", command


def options_of(command: Any) -> set[str]:
    """Collect every spelling of every option of a command."""
    options = [each for each in command.params if each.param_type_name == "option"]
    return {name for each in options for name in (*each.opts, *each.secondary_opts)}


def anchors(text: str) -> set[str]:
    """Give the anchors of the headings of a page, as they are commonly made."""
    titles = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {
        re.sub(r"[^\w\- ]", "", title).strip().lower().replace(" ", "-") for title in titles
    }


@pytest.mark.parametrize("path", UNDER_TEST, ids=name_of)
def test_a_page_says_what_the_tool_does_now(path: Path) -> None:
    """Generated pages are fresh, and running the examples again gives what is shown."""
    ran = generate(DOCS, "--check", path.relative_to(DOCS).as_posix())

    assert (0, "") == (ran.returncode, ran.stderr)


def test_a_stale_page_is_noticed_and_brought_up_to_date(tmp_path: Path) -> None:
    """A changed output, and a changed generated page, fail the check until generated again."""
    for source in DOCS.glob("*.py"):
        shutil.copy(source, tmp_path)
    (tmp_path / "reference").mkdir()
    (tmp_path / "reference" / "cli.md").write_text("old\n", encoding="utf-8")
    told = "```csv a.csv\ncoil,reading\n1,x\n```\n"
    told += "\n```console\n$ coilmeter judge a.csv\nold\n```\n"
    (tmp_path / "told.md").write_text(told, encoding="utf-8")
    names = ["reference/cli.md", "told.md"]

    assert 1 == generate(tmp_path, "--check", *names).returncode
    assert told == (tmp_path / "told.md").read_text(encoding="utf-8")
    assert 0 == generate(tmp_path, *names).returncode
    assert "a.csv:2: reading: saw 'x'" in (tmp_path / "told.md").read_text(encoding="utf-8")
    assert page("reference/cli.md") == (tmp_path / names[0]).read_text(encoding="utf-8")
    assert 0 == generate(tmp_path, "--check", *names).returncode


def test_every_command_is_documented_and_has_help() -> None:
    """Each has a section in the reference, a word elsewhere, and a help of its own."""
    reference = page("reference/cli.md")
    prose = "\n".join(path.read_text(encoding="utf-8") for path in WITH_LINKS)
    prose = prose.replace(reference, "")

    for name, command in commands().items():
        ran = cli(*name.split(), "--help")
        assert f"\n## coilmeter {name}\n" in reference
        assert f"coilmeter {name}" in prose
        assert ran.code == 0
        assert command.help.split(".")[0].split()[0] in ran.out
        for option in options_of(command) - OF_NO_COMMAND:
            assert f"`{option}`" in section(reference, f"coilmeter {name}")


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_every_option_a_page_names_exists(path: Path) -> None:
    """No page tells of an option that no command has."""
    known = {"--version"} | OF_NO_COMMAND
    for command in commands().values():
        known |= options_of(command)

    named = re.findall(r"(?<![\w-])--[a-z][a-z-]*", path.read_text(encoding="utf-8"))

    assert set() == set(named) - known


def test_the_readme_holds_the_two_commands_of_the_set_up() -> None:
    """Each exactly once, on a line of its own: .ci/run looks for the second like this."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")

    set_up = re.findall(r"^python3 -m venv \.venv && .*\bcoilmeter demo$", readme, re.MULTILINE)
    tests = re.findall(
        r"^\.venv/bin/pip install -e '\.\[test\]' && \.venv/bin/pytest.*$", readme, re.MULTILINE
    )
    assert 1 == len(set_up)
    assert 1 == len(tests)
    assert 1 == len(re.findall(r"^\.venv/bin/pip install -e ", readme, re.MULTILINE))


@pytest.mark.parametrize("path", WITH_LINKS, ids=name_of)
def test_links_resolve(path: Path) -> None:
    """Every relative link leads to a file that is there, and to a heading that is in it."""
    text = BLOCK.sub("", path.read_text(encoding="utf-8"))
    for link in re.findall(r"\]\(([^)\s]+)\)", text):
        if "://" in link:
            continue
        target, _, anchor = link.partition("#")
        found = path.parent / target if target else path

        assert found.exists(), link
        if anchor:
            assert anchor in anchors(found.read_text(encoding="utf-8")), link


def test_the_cautions_are_on_the_page_of_safety() -> None:
    """Word for word those the program prints, and the substance of all others."""
    text = " ".join(page("safety.md").split())

    for caution in (*BEFORE_MEASURING, DEMAGNETISE):
        assert caution in text
    for words in (
        "plug out before opening",
        "Capacitors hold charge",
        "trained to do it",
        "30 V rms",
        "x10 probe",
        "magnetise the core",
        "running demagnetiser away from tapes",
        "Volume down and headphones off",
        "Never an insulation tester",
        "Local rules come first",
    ):
        assert words in text


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_a_page_is_tidy(path: Path) -> None:
    """It has one title and nothing of a machine in it, and no cell of a table is cut off."""
    text = path.read_text(encoding="utf-8")
    prose = BLOCK.sub("", text)

    assert 1 == len(re.findall(r"^# ", prose, re.MULTILINE))
    assert None is MACHINE_WORDS.search(text)
    assert text.endswith("\n")
    assert [] == [line for line in text.splitlines() if line != line.rstrip()]


def test_exit_codes_are_those_of_the_errors() -> None:
    """The table of the recipe lists what the program really ends with."""
    table = section(page("howto.md"), "Exit codes in a script")

    codes = {int(cells[0]) for cells in tables(table) if cells[0].isdigit()}

    errors = {InputError.exit_code, MeterError.exit_code, StoreError.exit_code}
    assert {0, 1, STOPPED} | errors == codes
