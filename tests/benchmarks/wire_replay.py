"""Decoding a day of frames, per format, against the plainest loop that converts the digits.

A day at ten frames a second is 864 000 frames; the argument scales it down.
"""

from __future__ import annotations

import random
import statistics
import sys
import tracemalloc
from collections.abc import Callable
from typing import Final

from ratios import report, seconds

from coilmeter.values import Reading
from coilmeter.wire import formats
from coilmeter.wire.contract import Display, Format

DAY: Final = 864_000
CHUNK: Final = 1 << 16
ROUNDS: Final = 5
LIMIT: Final = 8.0
RANGE_OF: Final = {"block14": (0.01, 220.0)}
USUAL: Final = (0.1, 400.0)
_SEVEN: Final = bytes(byte & 0x7F for byte in range(256))
_SEGMENTS: Final = {
    (code >> 4, code & 15): str(digit)
    for digit, code in enumerate((0x7D, 0x05, 0x5B, 0x1F, 0x27, 0x3E, 0x7E, 0x15, 0x7F, 0x3F))
}

_LETTER_L: Final = 8


def day_of(form: Format, frames: int) -> bytes:
    """Invent a day at the bench: coils near 170 ohm with noise, lifted clips, other coils."""
    chance = random.Random(7)  # noqa: S311 - invented readings
    step, full_scale = RANGE_OF.get(form.name, USUAL)
    known: dict[int, bytes] = {}
    parts = []
    centre = 170.0
    for number in range(frames):
        if number % 50 == 0:
            centre = chance.uniform(0.5 * full_scale, 0.6 * full_scale)
        lifted = number % 50 < 10
        counts = -1 if lifted else round((centre + chance.gauss(0, 0.2)) / step)
        if counts not in known:
            known[counts] = form.encode(
                Display(
                    counts / round(1 / step) if counts >= 0 else 0.0,
                    step,
                    full_scale,
                    overload=counts < 0,
                )
            )
        parts.append(known[counts])
    return b"".join(parts)


def decode(form: Format, data: bytes) -> int:
    """Decode it all as a replay does, in chunks; how many readings came out."""
    decoder, count = form.decoder(), 0
    for at in range(0, len(data), CHUNK):
        count += sum(
            isinstance(answer, Reading) for answer in decoder.feed(data[at : at + CHUNK])
        )
    return count


# One comprehension each, without a call of our own: nothing plainer splits and converts.
PLAINEST: Final[dict[str, Callable[[bytes], list[float | None]]]] = {
    "block11": lambda data: [
        int(data[at + 1 : at + 5].translate(_SEVEN)) / 10 for at in range(0, len(data), 22)
    ],
    "block14": lambda data: [
        int(data[at + 1 : at + 6].translate(_SEVEN)) / 100 for at in range(0, len(data), 14)
    ],
    "digits14": lambda data: [
        int(text) / 10 if (text := data[at + 1 : at + 5]).isdigit() else None
        for at in range(0, len(data), 14)
    ],
    "plain": lambda data: [
        float(text) if (text := line.split()[0]) != b"OL" else None
        for line in data.splitlines()
    ],
    "prompt": lambda data: [float(line.split()[0]) for line in data.splitlines()],
    "scpi": lambda data: [float(line) for line in data.splitlines()],
    "segments14": lambda data: [
        float(
            "".join([_SEGMENTS[data[at + n] & 7, data[at + n + 1] & 15] for n in (1, 3, 5, 7)])
        )
        if data[at + 6] & 15 != _LETTER_L
        else None
        for at in range(0, len(data), 14)
    ],
    "stx16": lambda data: [
        int(text) / 10 if (text := data[at + 7 : at + 15]).isdigit() else None
        for at in range(0, len(data), 16)
    ],
    "words": lambda data: [
        float(text) if (text := line.split()[2]) != b"OL" else None
        for line in data.splitlines()
    ],
}


def main() -> int:
    """Print each ratio; 1 when a limit is missed or a frame was lost."""
    frames = int(sys.argv[1]) if len(sys.argv) > 1 else DAY // 10
    print(f"{frames} frames, {frames / DAY:.0%} of a day at ten a second")
    kept = True
    for form in formats().values():
        data = day_of(form, frames)
        plainest = PLAINEST[form.name]
        ratios = []
        for _ in range(ROUNDS):
            took = seconds(lambda: decode(form, data))  # noqa: B023 - run at once
            ratios.append(took / seconds(lambda: plainest(data)))  # noqa: B023 - as above
        tracemalloc.start()
        found = decode(form, data)
        peak = tracemalloc.get_traced_memory()[1] / 2**20
        tracemalloc.stop()
        kept &= found == frames
        name = f"{form.name}: decode / split and convert ({peak:.1f} MiB)"
        kept &= report(name, statistics.median(ratios), LIMIT)
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
