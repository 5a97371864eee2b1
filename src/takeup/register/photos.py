"""Photos: kept as they came, named by content, refused when they are no image."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import os
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from takeup.errors import BadFile

if TYPE_CHECKING:
    from PIL import Image

MOST_PIXELS = 40_000_000
_ENDINGS = {"JPEG": ".jpg", "MPO": ".jpg", "PNG": ".png", "WEBP": ".webp"}


class KeptPhoto(msgspec.Struct, frozen=True, kw_only=True):
    """A photo as it was kept."""

    file: str
    width: int
    height: int
    taken: dt.datetime | None
    """From the camera, and only when it kept the offset from UTC too: else the hour is unknown."""


def keep(data: bytes, folder: Path, name: str = "the photo") -> KeptPhoto:
    """Check that ``data`` is an image and keep it; raises BadFile saying what is wrong."""
    from PIL import Image, UnidentifiedImageError

    if not data:
        raise BadFile(f"{name} is empty")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what Pillow would warn of is judged here
            with Image.open(io.BytesIO(data)) as image:
                kind = image.format or ""
                width, height = image.size
                if kind not in _ENDINGS:
                    raise BadFile(
                        f"{name} is {kind or 'of an unknown kind'}; use JPEG, PNG or WebP"
                    )
                if width * height > MOST_PIXELS:
                    raise BadFile(
                        f"{name} has {width * height / 1e6:.0f} million pixels; "
                        f"at most {MOST_PIXELS / 1e6:.0f}"
                    )
                image.verify()
            with Image.open(io.BytesIO(data)) as image:  # verify() leaves an image used up
                image.draft("RGB", (width // 8, height // 8))  # a JPEG is decoded small
                image.load()  # a file cut short shows only here
            with Image.open(io.BytesIO(data)) as image:
                taken = _taken(image)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as fault:
        raise BadFile(f"{name} is no image or is damaged ({fault})") from fault
    except Image.DecompressionBombError as fault:
        raise BadFile(f"{name} is too large to be a photo") from fault
    file = hashlib.sha256(data).hexdigest()[:32] + _ENDINGS[kind]
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / file
    if not target.exists():
        staged = folder / f".{file}.{os.getpid()}"
        staged.write_bytes(data)
        staged.replace(target)
    return KeptPhoto(file=file, width=width, height=height, taken=taken)


def _taken(image: Image.Image) -> dt.datetime | None:
    """When the camera says it was taken; ``None`` without an offset, or when EXIF is damaged."""
    import struct

    from PIL import ExifTags

    base = ExifTags.Base
    try:
        outer = image.getexif()
        inner = outer.get_ifd(ExifTags.IFD.Exif)
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, struct.error):
        return None  # what the camera noted is lost; the picture is not
    for stamp, offset in (
        (inner.get(base.DateTimeOriginal), inner.get(base.OffsetTimeOriginal)),
        (outer.get(base.DateTime), inner.get(base.OffsetTime)),
    ):
        text = f"{stamp}{offset}".replace("\x00", "").replace(" ", "T", 1).replace(" ", "")
        try:
            made = dt.datetime.strptime(text, "%Y:%m:%dT%H:%M:%S%z")
        except ValueError:
            continue
        return made.astimezone(dt.UTC)
    return None
