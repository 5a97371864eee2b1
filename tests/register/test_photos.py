"""Photos are kept byte for byte, and what is no whole picture is refused."""

import datetime as dt
import io
import struct
import zlib

import pytest
from PIL import ExifTags, Image

from takeup.errors import BadFile
from takeup.register import photos

BASE = ExifTags.Base


def picture(kind="JPEG", size=(40, 30), exif=None):
    """An image as bytes."""
    stream = io.BytesIO()
    more = {"exif": exif} if exif is not None else {}
    Image.effect_noise(size, 60).convert("RGB").save(stream, kind, **more)
    return stream.getvalue()


def noted(stamp="2026:04:05 14:30:00", offset=None, original=True):
    """EXIF as a camera writes it."""
    exif = Image.Exif()
    exif[BASE.Orientation] = 1  # Pillow writes no EXIF to PNG that holds inner entries alone
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    if original:
        inner[BASE.DateTimeOriginal] = stamp
        if offset:
            inner[BASE.OffsetTimeOriginal] = offset
    else:
        exif[BASE.DateTime] = stamp
        if offset:
            inner[BASE.OffsetTime] = offset
    return exif


@pytest.mark.parametrize(
    ("kind", "ending"), [("JPEG", ".jpg"), ("MPO", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp")]
)
@pytest.mark.parametrize("exif", [None, noted()], ids=["bare", "with-exif"])
def test_photos_are_kept_as_they_came(tmp_path, kind, ending, exif):
    """An image is kept byte for byte, named by content, with or without camera notes."""
    data = picture(kind, exif=exif)
    kept = photos.keep(data, tmp_path)

    assert (kept.width, kept.height) == (40, 30)
    assert kept.file.endswith(ending)
    assert (tmp_path / kept.file).read_bytes() == data
    assert photos.keep(data, tmp_path) == kept
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("original", [True, False])
def test_the_camera_time_counts_only_with_its_offset(tmp_path, kind, original):
    """14:30 at +02:00 is 12:30 UTC; 14:30 alone is an unknown hour and is left out."""
    known = photos.keep(picture(kind, exif=noted(offset="+02:00", original=original)), tmp_path)
    alone = photos.keep(picture(kind, exif=noted(original=original)), tmp_path)

    assert known.taken == dt.datetime(2026, 4, 5, 12, 30, tzinfo=dt.UTC)
    assert alone.taken is None


@pytest.mark.parametrize("stamp", ["0000:00:00 00:00:00", "yesterday", "2026:02:30 10:00:00"])
def test_a_camera_time_that_is_none_is_left_out(tmp_path, stamp):
    """A camera whose clock was never set says nothing about the time."""
    assert photos.keep(picture(exif=noted(stamp, "+00:00")), tmp_path).taken is None


def test_damaged_camera_notes_do_not_lose_the_picture(tmp_path):
    """EXIF that cannot be read is no reason to refuse the photo."""
    data = picture(exif=b"Exif\x00\x00II*\x00\xff\xff\xff\x7f rubbish")
    assert photos.keep(data, tmp_path).taken is None


def chunk(name, data):
    """A PNG chunk."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


@pytest.mark.parametrize("side", [6400, 10_000, 20_000])
def test_a_picture_of_too_many_pixels_is_refused(tmp_path, side):
    """More than 40 million pixels are refused from the head alone, without being decoded."""
    data = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0))
    data += chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    with pytest.raises(BadFile, match=r"at most 40|too large"):
        photos.keep(data, tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"%PDF-1.7 no image",
        b"\xff\xd8\xff\xe0 cut",
        picture("JPEG", (200, 200))[:-3000],
        picture("PNG", (200, 200))[:-3000],
        picture("WEBP", (200, 200))[:-3000],
        picture("GIF"),
    ],
    ids=["empty", "pdf", "head", "cut-jpeg", "cut-png", "cut-webp", "gif"],
)
def test_a_photo_that_is_no_whole_image_is_refused(tmp_path, data):
    """Nothing is kept of it."""
    with pytest.raises(BadFile, match="the photo"):
        photos.keep(data, tmp_path)
    assert list(tmp_path.iterdir()) == []
