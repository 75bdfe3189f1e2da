"""Ten million bytes a format, random and mutated: only readings and rejects come out.

The argument is the number of bytes, the second one the seed.
"""

from __future__ import annotations

import random
import sys
import time
from typing import Final

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire import formats
from coilmeter.wire.contract import Format, Rejected

BYTES: Final = 10_000_000
PIECE: Final = 20_000
MOST_PENDING: Final = 256


def piece_of(frames: list[bytes], chance: random.Random) -> bytes:
    """Make a stretch of stream: noise, frames, frames with damage, pieces of frames."""
    parts: list[bytes] = []
    size = 0
    while size < PIECE:
        kind = chance.randrange(8)
        frame = chance.choice(frames)
        if kind == 0:
            part = chance.randbytes(chance.randrange(1, 200))
        elif kind == 1:
            part = bytes(chance.choices(b"0123456789+-.E eOL\r\n\x02=>", k=40))
        elif kind <= 3:
            part = frame
        else:
            damaged = bytearray(frame)
            for _ in range(chance.randrange(1, 4)):
                place = chance.randrange(len(damaged)) if damaged else 0
                what = chance.randrange(4)
                if what == 0 and damaged:
                    damaged[place] ^= 1 << chance.randrange(8)
                elif what == 1 and damaged:
                    damaged[place] = chance.randrange(256)
                elif what == 2:
                    damaged.insert(place, chance.randrange(256))
                else:
                    del damaged[place : place + chance.randrange(1, 4)]
            part = bytes(damaged)
        parts.append(part)
        size += len(part)
    return b"".join(parts)


def sound(form: Format, reading: Reading) -> bool:
    """Whether a reading keeps the promises of its type."""
    return (
        reading.raw != b""
        and isinstance(reading.function, Function)
        and reading.flags <= frozenset(Flag) & form.facts.flags
        and not (reading.overload and reading.value is not None)
        and (reading.value is None or abs(reading.value) < float("inf"))
    )


def fuzz(form: Format, bytes_wanted: int, seed: int) -> tuple[int, int]:
    """Feed a decoder; how many readings and rejects came out.

    Raises
    ------
    AssertionError
        When anything else came out, a byte was lost or shown twice, or too much is pending.

    """
    chance = random.Random(seed)  # noqa: S311 - the same stream each time
    frames = [example.raw for example in form.examples]
    decoder = form.decoder()
    read = refused = fed = answered = 0
    while fed < bytes_wanted:
        stream = decoder.pending() + (data := piece_of(frames, chance))
        answers: list[Reading | Rejected] = []
        at = 0
        while at < len(data):
            size = chance.choice((1, 7, 64, 4096, len(data)))
            answers += decoder.feed(data[at : at + size])
            at += size
        fed += len(data)
        joined = b"".join(answer.raw for answer in answers) + decoder.pending()
        for answer in answers:
            if isinstance(answer, Rejected):
                refused += 1
                good = answer.position == answered and answer.reason != ""
            else:
                read += 1
                good = isinstance(answer, Reading) and sound(form, answer)
            answered += len(answer.raw)
            if not good:
                raise AssertionError(f"{form.name}: {answer!r}")
        if joined != stream or len(decoder.pending()) > MOST_PENDING:
            raise AssertionError(f"{form.name}: bytes lost, or too many pending")
    return read, refused


def main() -> int:
    """Fuzz every format, and print what came out."""
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else BYTES
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    for form in formats().values():
        start = time.perf_counter()
        read, refused = fuzz(form, wanted, seed)
        took = time.perf_counter() - start
        print(
            f"{form.name:<12} {wanted:>12} bytes: {read:>8} readings, {refused:>8} rejects, "
            f"{took:.0f} s"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
