"""Photos as they come from phones and from people who mean harm."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image

from sites.rules.photo_files import LONGEST_SIDE, MOST_SEALED, read_photo
from tests.refusing import refusal_of

ORIENTATION, GPS, DATE, EXIF_PART, GPS_PART = 0x0112, 0x0001, 0x9003, 0x8769, 0x8825


def picture(size: tuple[int, int] = (40, 20), kind: str = "JPEG", **more: object) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(out, kind, **more)  # type: ignore[arg-type]
    return out.getvalue()


def with_position() -> bytes:
    """Taken on its side, with a time and a position (tags of Exif 2.3)."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif.get_ifd(EXIF_PART)[DATE] = "2026:11:30 09:15:00"
    exif.get_ifd(GPS_PART)[GPS] = "N"
    exif.get_ifd(GPS_PART)[2] = (40.0, 5.0, 36.0)
    return picture(exif=exif)


def bomb(side: int) -> bytes:
    """A PNG of a few bytes whose head promises side x side pixels (PNG, third edition, 11.2.1)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        check = zlib.crc32(name + data)
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 999)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def test_a_photo_is_written_anew_upright_and_without_its_position() -> None:
    came = with_position()
    assert Image.open(BytesIO(came)).getexif().get_ifd(GPS_PART)
    kept = read_photo(came, "IMG_1.jpg")
    shown = Image.open(BytesIO(kept.content))
    assert (shown.format, shown.size, kept.taken) == ("JPEG", (20, 40), "2026:11:30 09:15:00")
    assert not dict(shown.getexif())
    assert b"Exif" not in kept.content
    assert (kept.is_sealed, kept.content_type) == (False, "image/jpeg")


def test_a_large_photo_is_shrunk_to_its_longest_side() -> None:
    kept = read_photo(picture((4000, 3000)), "big.jpg")
    assert (kept.width, kept.height) == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_kinds_become_jpeg(kind: str) -> None:
    assert Image.open(BytesIO(read_photo(picture(kind=kind), "x").content)).format == "JPEG"


def test_a_hidden_script_does_not_survive_in_a_comment() -> None:
    kept = read_photo(picture(comment=b"<script>alert(1)</script>"), "x.jpg")
    assert b"<script" not in kept.content


@pytest.mark.parametrize(
    ("code", "content", "said"),
    [
        ("no_photo", b"#!/bin/sh\nrm -rf /\n", "is not a photo"),
        ("no_photo", b"<svg onload='alert(1)'/>", "is not a photo"),
        ("no_photo", b"%PDF-1.7 and so on", "is not a photo"),
        ("no_photo", b"GIF89a but not", "is not a photo"),
        ("photo_empty", b"", "is empty"),
        ("photo_pixels", bomb(7_072), "50 million pixels"),
        ("photo_pixels", bomb(60_000), "50 million pixels"),
    ],
)
def test_what_is_no_photo_is_refused_with_a_sentence(code: str, content: bytes, said: str) -> None:
    refusal = refusal_of(code, read_photo, content, "holiday.jpg")
    assert said in refusal.sentence
    assert refusal.facts["field"] == "photos"


def test_40_mb_are_refused_by_their_size_without_a_byte_of_them() -> None:
    said = refusal_of("photo_large", read_photo, b"", "wall.jpg", 40 * 1024 * 1024)
    assert "above 20 MB" in said.sentence


HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 64


@pytest.mark.parametrize("content", [HEIC, picture()[:200], bomb(100)])
def test_a_picture_that_cannot_be_read_is_kept_sealed_as_it_came(content: bytes) -> None:
    kept = read_photo(content, "IMG_2.HEIC")
    assert (kept.is_sealed, kept.content) == (True, content)
    assert (kept.content_type, kept.width) == ("application/octet-stream", 0)


def test_a_sealed_one_is_10_mb_at_most() -> None:
    large = HEIC.ljust(MOST_SEALED + 1, b"\0")
    assert "above 10 MB" in refusal_of("photo_large", read_photo, large, "IMG.HEIC").sentence
