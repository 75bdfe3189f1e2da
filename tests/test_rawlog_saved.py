"""Logs that earlier releases saved: they give for ever what they gave then."""

from __future__ import annotations

from pathlib import Path

import pytest
from rawlog_live import replayed

from coilmeter.sources.rawlog_replay import Replay

DATA = Path(__file__).parent / "data"

SAVED = {
    # name: records, raw bytes, decoded, rejected, asides, unfinished, gaps, end
    "version1-digits14": (12, 116, 7, 2, 0, 6, 1, "the port was lost"),
    "version1-plain": (10, 132, 7, 1, 0, 0, 1, "the readings asked for were taken"),
    "version1-scpi": (15, 190, 6, 2, 3, 0, 0, "the readings asked for were taken"),
    "version1-killed": (6, 68, 4, 1, 0, 3, 0, ""),
    "version2-unplugged": (18, 203, 14, 0, 0, 7, 1, "the readings asked for were taken"),
}
DISPLAYS = {
    "version1-digits14": "171.0 171.1 171.2 OL 171.3 171.4 171.5",
    "version1-plain": "212.4 212.5 OL 4.701 4.701 4.701 4.701",
    "version1-scpi": "212.3 212.4 OL 98.7 98.7 98.7",
    "version1-killed": "171.0 171.1 171.2 OL",
    "version2-unplugged": (
        "100.0 100.1 100.2 100.3 100.4 100.6 100.7 100.8 100.9 101.0 101.1 101.2 101.3 101.4"
    ),
}


@pytest.mark.parametrize("name", sorted(SAVED))
def test_saved_logs_stay_readable(name: str) -> None:
    """Logs that earlier releases wrote give for ever what they gave then.

    They were recorded by `coilmeter log` from loopback sockets: a torn first frame, noise
    and a plug pulled within a frame; a silence; a meter that is asked, over-range believed
    and refused; one whose program was killed within a line; and a plug pulled within a frame
    and put back.
    """
    replay = Replay([DATA / f"{name}.rawlog"])
    displays = [text.split()[0] for kind, text in replayed(replay) if kind == "read"]
    tally = replay.tally

    assert SAVED[name] == (
        tally.records,
        tally.raw_bytes,
        tally.decoded,
        tally.rejected,
        tally.asides,
        tally.unfinished,
        tally.gaps,
        tally.ended,
    )
    assert DISPLAYS[name].split() == displays
    assert ("killed" in name) == bool(tally.cut)
    assert tally.decoded == tally.logged_read


def test_every_saved_log_is_checked() -> None:
    """No saved file is left out."""
    assert sorted(SAVED) == sorted(path.stem for path in DATA.glob("*.rawlog"))
