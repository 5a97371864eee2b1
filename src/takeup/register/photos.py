"""Photos: kept as they came, named by content, refused when they are no image."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import os
from pathlib import Path

import msgspec

from takeup.errors import BadFile

MOST_PIXELS = 80_000_000
_ENDINGS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp"}


class KeptPhoto(msgspec.Struct, frozen=True, kw_only=True):
    """A photo as it was kept."""

    file: str
    width: int
    height: int
    taken: dt.datetime | None
    """From the camera when it says so; cameras keep local time, taken here as UTC."""


def keep(data: bytes, folder: Path, name: str = "the photo") -> KeptPhoto:
    """Check that ``data`` is an image and keep it; raises BadFile saying what is wrong."""
    from PIL import Image, UnidentifiedImageError

    if not data:
        raise BadFile(f"{name} is empty")
    try:
        with Image.open(io.BytesIO(data)) as image:
            kind = image.format or ""
            width, height = image.size
            if kind not in _ENDINGS:
                raise BadFile(f"{name} is {kind or 'of an unknown kind'}; use JPEG, PNG or WebP")
            if width * height > MOST_PIXELS:
                raise BadFile(f"{name} has {width * height / 1e6:.0f} million pixels; at most 80")
            image.verify()
        with Image.open(io.BytesIO(data)) as image:  # verify() leaves an image used up
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


def _taken(image: object) -> dt.datetime | None:
    from PIL import ExifTags

    read = getattr(image, "getexif", None)
    if read is None:
        return None
    stamp = read().get(ExifTags.Base.DateTime)
    try:
        made = dt.datetime.strptime(str(stamp), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
    except ValueError:
        return None
    return made.replace(tzinfo=dt.UTC)
