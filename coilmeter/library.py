"""Calls for other programs: one reading, one stretch of bytes, one verdict."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from coilmeter.catalog import load_catalog
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.settings import Settings
from coilmeter.units import parse_range_end, parse_reading
from coilmeter.values import CoilResult, Purpose, Reading, ReadingRow
from coilmeter.wire import find
from coilmeter.wire.contract import Rejected


def decode(format_name: str, data: bytes) -> Sequence[Reading | Rejected]:
    """Decode bytes of a wire format.

    Parameters
    ----------
    format_name
        Name of the format, such as ``plain`` or ``digits14``.
    data
        Bytes as they came; a frame cut at the end is left out.

    Returns
    -------
    sequence
        Readings, and stretches that are no frame with the reason, in the order of the bytes.

    Raises
    ------
    UnknownNameError
        When there is no such format.

    """
    return find(format_name).decoder().feed(data)


def judge(
    reading: str,
    *,
    band: str,
    meter: str = "unstated",
    range_end: str = "",
    lead: str = "",
    temperature: str = "",
    confidence: float = 0.95,
    catalog_files: Sequence[Path] = (),
) -> CoilResult:
    """Judge one reading of a coil against a band.

    Parameters
    ----------
    reading
        As a bench user writes it: ``212.4 ohm``, ``OL 40 Mohm``, ``beep``, ``silent``.
    band, meter
        Names from the reference files, shipped or in `catalog_files`.
    range_end
        End of the range it was read on, such as ``400 ohm``, or ``auto``; empty where not
        known.
    lead
        ``0.2 ohm``, ``nulled`` or ``four-wire``; empty where not known.
    temperature
        In degree Celsius, such as ``23`` or ``23 +/- 2``; empty where not known.
    confidence
        Probability that decides.

    Returns
    -------
    CoilResult
        Verdict, probabilities, resistance at 20 degC and its standard uncertainty in ohm,
        and, where undecided, the measurement that would decide.

    Raises
    ------
    ReadingTextError, UnknownNameError, MistakesError
        When a text means nothing, a name is not defined, or the values contradict.

    """
    catalog = load_catalog(catalog_files)
    settings = Settings(
        bands=catalog.bands,
        meters=catalog.meters,
        kinds=catalog.kinds,
        meter=meter,
        band=band,
        lead=lead,
        temperature=temperature,
        confidence=confidence,
    )
    settings.check()
    row = ReadingRow(
        path="reading",
        line=1,
        head="head",
        reading=parse_reading(reading),
        coil="1",
        purpose=Purpose.COIL,
        range_ohm=parse_range_end(range_end) if range_end else None,
    )
    return next(judge_rows([row], settings)).coils[0]
