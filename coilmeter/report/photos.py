"""Photos for a report: made small, upright, and rid of all that a camera writes into them."""

from __future__ import annotations

import base64
import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coilmeter.errors import InputError, StoreError

LONGEST_SIDE: Final = 1200
MOST_BYTES: Final = 50_000_000
TYPES: Final = ("JPEG", "PNG", "WEBP")
_QUALITY: Final = 82


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as a page carries it.

    Parameters
    ----------
    name
        File name, without its folder.
    data
        JPEG bytes without any metadata.
    width, height
        Size in pixels.

    """

    name: str
    data: bytes
    width: int
    height: int

    @property
    def uri(self) -> str:
        """The picture itself as an address, so that a page needs no other file."""
        return f"data:image/jpeg;base64,{base64.b64encode(self.data).decode()}"


def load_photo(path: Path) -> Photo:
    """Read a photo, scale it down, turn it upright, and leave its metadata behind.

    Raises
    ------
    InputError
        When it is no JPEG, PNG or WebP picture, or larger than anything a camera makes.
    StoreError
        When it cannot be read.

    """
    from PIL import Image, ImageOps, UnidentifiedImageError  # noqa: PLC0415 - only for photos

    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(
                f"{path}: {path.stat().st_size / 1e6:.0f} MB, expected {MOST_BYTES / 1e6:.0f} "
                "at most",
                hint="save it smaller.",
            )
        data = path.read_bytes()
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be read ({error.strerror or error})", hint="check the name."
        ) from error
    try:
        with warnings.catch_warnings():
            # A picture so large that it may be meant to fill the memory is none.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=TYPES) as opened:
                picture = ImageOps.exif_transpose(opened).convert("RGB")
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
        OSError,
        ValueError,
        SyntaxError,
    ) as error:
        raise InputError(
            f"{path}: not a picture that can be read",
            hint=f"give a photo as {', '.join(TYPES)}.",
        ) from error
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.frombytes("RGB", picture.size, picture.tobytes())
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=_QUALITY)
    return Photo(path.name, out.getvalue(), *plain.size)
