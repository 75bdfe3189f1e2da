"""The raw log as a file: what is written comes back, whatever happened to it in between."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from datetime import timedelta, timezone
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rawlog_files import HEAD, SMALL, START, UNPLUGGED, WITH_BYTES, Record, read, written

from coilmeter.sources.rawlog import COLUMNS, LONGEST_TEXT, Kind, LogHead

records = st.lists(
    st.one_of(
        st.tuples(
            st.floats(0, 1e6),
            st.sampled_from(WITH_BYTES),
            st.binary(min_size=1, max_size=40),
            st.text(max_size=30),
        ),
        st.tuples(
            st.floats(0, 1e6),
            st.sampled_from([kind for kind in Kind if kind not in WITH_BYTES]),
            st.just(b""),
            st.text(max_size=30),
        ),
    ),
    max_size=30,
)


def test_the_contract_of_version_2(tmp_path: Path) -> None:
    """A log of version 2, to the letter: other programs may read it by this."""
    path = written(tmp_path / "a.rawlog", *SMALL[:-1], *UNPLUGGED, (9.1, *SMALL[-1][1:]))
    expected = (
        "coilmeter raw log, version 2\n"
        "start: 2026-11-25T09:10:39.123456Z\n"
        "port: /dev/ttyUSB0\n"
        "format: digits14\n"
        "settings: baud=2400 frame=8N1 dtr=on rts=off\n"
        "part: 1\n"
        "seconds\tkind\tbytes\ttext\n"
        "0.100000\trejected\t340D\tno frame\n"
        "0.200000\tread\t3231322E34206F686D0D0A\t212.4 ohm\n"
        "5.200000\tsilent\t\tnothing came\n"
        "6.000000\tread\t342E37206BE90D0A\t4.7 kΩ\n"
        "6.100000\tpart\t3137\tthe port was lost here\n"
        "6.100000\tunplugged\t\tthe port is gone\n"
        "9.000000\tplugged\t\topen again as /dev/ttyUSB1\n"
        "9.100000\tend\t\tthe time asked for was over\n"
    )

    assert expected == path.read_text(encoding="utf-8")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(entries=records)
def test_what_is_written_comes_back(tmp_path: Path, entries: list[Record]) -> None:
    """Every byte in order, times that never go back, and each happening with its text."""
    path = tmp_path / "any.rawlog"
    path.unlink(missing_ok=True)
    data, at, happened, damages, reader = read(written(path, *entries))

    assert b"".join(raw for _, _, raw, _ in entries) == data
    assert sorted(at) == at
    assert [kind for _, kind, raw, _ in entries if not raw] == [each.kind for each in happened]
    assert [] == damages
    assert len(entries) == reader.records
    assert b"" == reader.cut
    assert HEAD == reader.head


def test_edited_by_another_system(tmp_path: Path) -> None:
    """A byte-order mark and CR LF line ends, as an editor may leave them, do no harm."""
    path = written(tmp_path / "a.rawlog", *SMALL)
    plain = read(path)[0]
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    data, _, happened, damages, reader = read(path)

    assert plain == data
    assert [] == damages
    assert ["nothing came", "the time asked for was over"] == [each.text for each in happened]
    assert "digits14" == reader.head.format_name


def test_keys_of_later_releases_are_passed_over(tmp_path: Path) -> None:
    """A head may grow within a version."""
    path = written(tmp_path / "a.rawlog", *SMALL)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(COLUMNS, f"mood: good\n{COLUMNS}"), encoding="utf-8")

    assert 5 == read(path)[-1].records


def test_a_part_that_is_no_number_is_taken_for_the_first(tmp_path: Path) -> None:
    """Nothing but the order of parts hangs on it."""
    path = written(tmp_path / "a.rawlog", *SMALL)
    path.write_text(path.read_text(encoding="utf-8").replace("part: 1", "part: ²"), "utf-8")

    assert 1 == read(path)[-1].head.part


def test_the_writer_never_goes_back(tmp_path: Path) -> None:
    """A time before that of the last record is written as that one's."""
    path = written(
        tmp_path / "a.rawlog", (2.0, Kind.READ, b"A", ""), (1.0, Kind.READ, b"B", "")
    )

    assert [2.0, 2.0] == read(path)[1]


def test_text_cannot_break_a_line(tmp_path: Path) -> None:
    """Tabs, newlines and control characters of a meter's text are written as ?."""
    text = "a\tb\nc\rd\x00e\u2028f\x1b[2Jg"
    path = written(tmp_path / "a.rawlog", (0.0, Kind.NOTE, b"", text))
    _, _, (note,), _, _ = read(path)

    assert "a?b?c?d?e?f?[2Jg" == note.text


def test_a_long_text_is_shortened(tmp_path: Path) -> None:
    """A record has bounded length whatever a message says."""
    path = written(tmp_path / "a.rawlog", (0.0, Kind.NOTE, b"", "x" * 5000))

    assert "x" * LONGEST_TEXT + "..." == read(path)[2][0].text


def test_the_start_is_written_in_utc(tmp_path: Path) -> None:
    """Whatever the zone of the bench, a log says UTC, as RFC 3339 has it."""
    local = START.astimezone(timezone(timedelta(hours=5, minutes=30)))
    path = written(tmp_path / "a.rawlog", head=LogHead(local, "a: b", "plain"))
    head = read(path)[-1].head

    assert b"start: 2026-11-25T09:10:39.123456Z\n" in path.read_bytes()
    assert START == head.start
    assert "a: b" == head.port


def test_readings_are_counted_as_they_were_logged(tmp_path: Path) -> None:
    """Readings written without their bytes, once they could be believed, count too."""
    path = written(tmp_path / "a.rawlog", *SMALL, (7.0, Kind.READ, b"", "OL ohm"))

    assert 3 == read(path)[-1].logged_read
