"""The documentation: fresh where it is generated, true where it shows an output, whole."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
import typer
from helpers import cli, one_head

from coilmeter.cli.main import STOPPED, make_app
from coilmeter.compute.cautions import BEFORE_MEASURING, DEMAGNETISE
from coilmeter.errors import InputError, MeterError, ReadingTextError, StoreError
from coilmeter.sources.sheet import COLUMNS
from coilmeter.units import parse_reading
from coilmeter.values import Purpose

ROOT: Final = Path(__file__).parent.parent
DOCS: Final = ROOT / "docs"
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


def page(name: str) -> str:
    """Read a page."""
    return (DOCS / name).read_text(encoding="utf-8")


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


def tables(text: str) -> Iterator[list[str]]:
    """Cells of every line of every table of a page, back-quotes taken off."""
    for line in re.findall(r"^\| (.*) \|$", text, re.MULTILINE):
        yield [cell.strip().strip("`") for cell in line.split(" | ")]


def section(text: str, title: str) -> str:
    """Cut the part of a page under a heading of the second level."""
    return text.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


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


def test_the_readings_file_is_described_in_full() -> None:
    """Every column has its line, in the order of a walk's file; every purpose has one too."""
    text = page("reference/readings-file.md")

    columns = [cells[0] for cells in tables(section(text, "Columns"))]
    purposes = [cells[0] for cells in tables(section(text, "Purpose"))]

    assert list(COLUMNS) == [name for name in columns if name not in {"column", "---"}]
    assert [*Purpose] == purposes[2:]


def test_readings_mean_what_the_page_says() -> None:
    """Each text of the table is understood so, and each refused one is refused."""
    good, refused = section(page("reference/readings-file.md"), "Reading").split("Refused")

    for text, meaning in list(tables(good))[2:]:
        ohm = parse_reading(text).ohm
        if meaning.endswith(" ohm") and "than" not in meaning:
            assert float(meaning.removesuffix(" ohm")) == pytest.approx(ohm, rel=1e-12)
        elif meaning.startswith(("more than 4", "less than 3")):
            assert parse_reading(meaning.split(" than ")[1]).ohm == ohm
        else:
            assert ohm is None
    for text, _ in list(tables(refused))[2:]:
        with pytest.raises(ReadingTextError):
            parse_reading(text)


def test_every_key_of_the_json_document_is_described() -> None:
    """The page has a line for each key, and none for one that does not exist."""
    text = page("reference/json.md")
    rows = b"coil,reading,purpose\n1,171.3,\n2,OL 400 ohm,\n1-2,OL,coil-to-coil\n"
    ran = cli("judge", "-", "--as", "json", "--budget", stdin=rows)
    document = json.loads(ran.out)
    (head,) = document["heads"]

    for title, keys in (
        ("Document", set(document)),
        ("Head", set(head)),
        ("Coil", set(head["coils"][0])),
        ("Path", set(head["isolation"][0])),
    ):
        lines = list(tables(section(text, title)))[2:]
        assert keys == {key for cells in lines for key in re.findall(r"\w+", cells[0])}
    budget = head["coils"][0]["budget"]
    assert all(f"`{key}`" in text for key in [*budget, *document["meter"]])


def test_the_worked_example_of_the_method_can_be_computed_again() -> None:
    """Its table, computed with nothing but the formulas of the page, and by the tool."""
    lines = {
        cells[0]: cells[-1] for cells in tables(section(page("method.md"), "A worked example"))
    }
    readings, lead, root3 = (102.6, 108.9), 0.2, math.sqrt(3)
    c = 1 + 0.00393 * (23 - 20)
    first, second = ((reading - lead) / c for reading in readings)
    gains = [0.008 * reading / root3 / c for reading in readings]
    counts = 5 * 0.1 / root3 / c
    warmth = 0.00393 * first / root3 / c
    u = math.sqrt(gains[0] ** 2 + 2 * counts**2 + warmth**2)

    def below(limit: float) -> float:
        return math.erfc((first - limit) / u / math.sqrt(2)) / 2

    # deviation = 2 R1 / (R1 + R2) - 1; slopes with R1 and R2
    slopes = (2 * second / (first + second) ** 2, -2 * first / (first + second) ** 2)
    own = math.hypot(*(slope * counts for slope in slopes))
    shared = (
        slopes[0] * gains[0] + slopes[1] * gains[1],
        (slopes[0] + slopes[1]) * counts,
        (slopes[0] * first + slopes[1] * second) * 0.00393 / root3 / c,
    )
    u_deviation = math.hypot(own, *shared)
    expected = {
        "c": f"{c:.5f}",
        "R20": f"{first:.3f} ohm",
        "gain": f"{gains[0]:.4f} ohm",
        "floor": f"{counts:.4f} ohm",
        "leads": f"{counts:.4f} ohm",
        "temperature": f"{warmth:.4f} ohm",
        "u": f"{u:.4f} ohm",
        "P(low)": f"{below(100) - below(20):.4f}",
        "P(intact)": f"{below(500) - below(100):.4f}",
        "deviation": f"{200 * first / (first + second) - 100:.2f} %",
        "u of the deviation": f"{100 * u_deviation:.2f} %",
    }
    coil = one_head(
        "coil,reading,purpose\n,0.2,lead-null\n1,102.6,\n2,108.9,\n",
        kind="two-channel-rp",
        meter="handheld-4000",
        temperature="23 +/- 1",
    ).coils[0]

    assert expected == {name: lines[name] for name in expected}
    assert first == pytest.approx(coil.resistance_20c_ohm, rel=1e-12)
    assert u == pytest.approx(coil.u_ohm, rel=1e-12)
    assert below(500) - below(100) == pytest.approx(coil.probability, rel=1e-9)
    assert u_deviation == pytest.approx(coil.u_deviation, rel=1e-9)
