"""What guards a user's files, terminal and exit codes, whatever a command meets."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from helpers import cli

import coilmeter.cli.commands.demo as demo_module
from coilmeter.cli.main import OWN_FAULT, TRACE, main

ROWS = "coil,reading\n1,171.3\n2,170.8\n"


def written(folder: Path, name: str = "head.csv") -> Path:
    """Write a readings file."""
    path = folder / name
    path.write_text(ROWS, encoding="utf-8")
    return path


def test_results_never_take_the_place_of_readings(tmp_path: Path) -> None:
    """Neither of those that are judged, nor of any other readings file."""
    path, other = written(tmp_path), written(tmp_path, "other.csv")
    same = cli("judge", str(path), "--out", str(path))
    another = cli("judge", str(path), "--as", "json", "--out", str(other))

    assert (4, 4) == (same.code, another.code)
    assert "there are readings in it" in same.err
    assert (ROWS, ROWS) == (path.read_text("utf-8"), other.read_text("utf-8"))


def test_results_take_the_place_of_results(tmp_path: Path) -> None:
    """Judged again, the older results are replaced, in every shape."""
    path, out = written(tmp_path), tmp_path / "out"
    for shape in ("csv", "json", "table", "markdown", "csv"):
        ran = cli("judge", str(path), "--as", shape, "--out", str(out))

        assert 1 == ran.code


def test_a_link_keeps_pointing_and_a_pipe_stays_a_pipe(tmp_path: Path) -> None:
    """Results go to what a link points to, and into a device."""
    path, target, link = written(tmp_path), tmp_path / "target.json", tmp_path / "link.json"
    target.write_text("{}", encoding="utf-8")
    link.symlink_to(target)
    cli("judge", str(path), "--as", "json", "--out", str(link))
    device = cli("judge", str(path), "--out", "/dev/null")

    assert link.is_symlink()
    assert target.read_text("utf-8").startswith('{"schema"')
    assert 1 == device.code
    assert Path("/dev/null").is_char_device()


@pytest.mark.parametrize(
    ("redirect", "code", "told"),
    [
        ("judge head.csv > /dev/full", 4, "standard output cannot be written"),
        ("judge head.csv >&-", 4, "standard output is closed"),
        ("judge - <&-", 2, "there is nothing in it"),
        ("check --coils 1 --lead nulled --keep k.csv <&-", 1, "No readings were kept"),
    ],
)
def test_closed_and_full_streams(tmp_path: Path, redirect: str, code: int, told: str) -> None:
    """A stream that cannot be used is told as any other trouble."""
    written(tmp_path)
    ran = subprocess.run(  # noqa: S602 - the redirections are what is tested
        f"{sys.executable} -m coilmeter {redirect}",
        shell=True,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )

    assert code == ran.returncode
    assert told in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_fault_of_its_own_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It says so, with a code that no script takes for a verdict; traced where asked for."""

    def broken() -> None:
        """Fail as no command should."""
        raise RuntimeError("\x1b[31mnot thought of")

    monkeypatch.setattr(demo_module, "command", broken)
    code = main(["demo"])
    told = capsys.readouterr().err
    monkeypatch.setenv(TRACE, "1")

    assert OWN_FAULT == code
    assert "a fault of this program itself (RuntimeError" in told
    assert "\x1b" not in told
    with pytest.raises(RuntimeError):
        main(["demo"])


def test_messages_carry_no_control_characters(tmp_path: Path) -> None:
    """Neither from a file's cells nor from its name."""
    path = tmp_path / "p.csv"
    path.write_text("coil,kind,reading\n1,\x1b]0;x\x07evil,5\n", encoding="utf-8")
    told = [cli("judge", str(path)).err, cli("judge", str(tmp_path / "\x1b[31mx.csv")).err]

    assert not any("\x1b" in text or "\x07" in text for text in told)


def test_a_step_is_taken_again_after_a_stop(tmp_path: Path) -> None:
    """`--again` asks for one that was taken in an earlier run; a wrong name is told."""
    keep = tmp_path / "k.csv"
    words = ["check", "--coils", "1", "--lead", "nulled", "--no-isolation", "--keep", str(keep)]
    early = cli(*words, "--again", "coil 1")
    made = keep.exists()
    first = cli(*words, stdin=b"171\n")
    wrong = cli(*words, "--resume", "--again", "coil 9")
    then = cli(*words, "--resume", "--again", "coil 1", stdin=b"172\n")

    assert (2, False) == (early.code, made)
    assert "--again without --resume" in early.err
    assert (2, "coil 1" in wrong.err) == (wrong.code, True)
    assert (1, 1) == (first.code, then.code)
    assert ["171", "172"] == [line.split(",")[6] for line in keep.read_text().splitlines()[1:]]


def test_coils_come_first_where_asked_for(tmp_path: Path) -> None:
    """For a meter whose range is turned by hand."""
    ran = cli(
        *["check", "--coils", "2", "--lead", "nulled", "--coils-first"],
        *["--keep", str(tmp_path / "k.csv")],
        stdin=b"171\n172\n",
    )

    assert ran.err.index("coil 2: pin 3") < ran.err.index("coil 1 to coil 2")
