"""A photo from a phone: read, turned upright, shrunk, and written again without where it was made.

What comes out is a new file: no position, no serial number, no hidden thumbnail. What cannot be
read is told apart: a picture of a kind we cannot decode is kept sealed, anything else is refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

from accounts.refusals import Refused

MOST_BYTES = 20 * 1024 * 1024
MOST_SEALED = 10 * 1024 * 1024
MOST_PIXELS = 50_000_000
LONGEST_SIDE = 1600
QUALITY = 82
READ = ("JPEG", "PNG", "WEBP")
TAKEN_TAG, EXIF_PART = 0x9003, 0x8769  # DateTimeOriginal in the Exif part (Exif 2.3)
# ISO base media brands of HEIC and AVIF stand at byte 8 (ISO/IEC 23008-12); TIFF 6.0
PICTURE_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
PICTURE_BEGINS = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\x00", b"MM\x00*")
SEALED_WORDS = (
    "The picture is kept but cannot be shown here: save it as JPEG to show it. Only a manager can "
    "take it out."
)


@dataclass(frozen=True)
class PhotoFile:
    """What is kept of one picture; a sealed one has no size in pixels and is as it came."""

    content: bytes
    original_sha256: str
    is_sealed: bool
    width: int = 0
    height: int = 0
    taken: str = ""

    @property
    def sha256(self) -> str:
        return sha256(self.content).hexdigest()

    @property
    def content_type(self) -> str:
        return "application/octet-stream" if self.is_sealed else "image/jpeg"


def read_photo(content: bytes, name: str, size: int | None = None) -> PhotoFile:
    """Make the kept picture of an uploaded file.

    `size` in bytes is what arrived, should `content` have been dropped on the way. Refused, naming
    the field: above 20 MB, nothing in it, more than 50 million pixels, no picture at all, one that
    cannot be decoded and is above 10 MB.
    """
    if max(size or 0, len(content)) > MOST_BYTES:
        raise _refused("photo_large", f"{name[:40]} is above 20 MB. Take it in a smaller size.")
    if not content:
        raise _refused("photo_empty", f"{name[:40]} is empty. Take the photo again.")
    try:
        return _decoded(content, name)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError):
        return _sealed(content, name)
    except Image.DecompressionBombError as bomb:
        raise _too_many_pixels(name) from bomb


def _decoded(content: bytes, name: str) -> PhotoFile:
    with Image.open(BytesIO(content), formats=READ) as opened:
        # width and height stand in the head of the file: nothing is unpacked before this
        if opened.width * opened.height > MOST_PIXELS:
            raise _too_many_pixels(name)
        taken = str(opened.getexif().get_ifd(EXIF_PART).get(TAKEN_TAG, ""))[:19]
        opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(opened)
        shown = upright.convert("RGB")
    shown.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", shown.size)
    plain.paste(shown)
    out = BytesIO()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    digest = sha256(content).hexdigest()
    return PhotoFile(out.getvalue(), digest, False, plain.width, plain.height, taken)


def _sealed(content: bytes, name: str) -> PhotoFile:
    is_picture = content.startswith(PICTURE_BEGINS) or content[8:12] in PICTURE_BRANDS
    if not is_picture:
        sentence = f"{name[:40]} is not a photo, whatever its name says. Choose a photo."
        raise _refused("no_photo", sentence)
    if len(content) > MOST_SEALED:
        sentence = f"{name[:40]} cannot be read and is above 10 MB. Save it as JPEG."
        raise _refused("photo_large", sentence)
    return PhotoFile(content, sha256(content).hexdigest(), is_sealed=True)


def _too_many_pixels(name: str) -> Refused:
    sentence = f"{name[:40]} has more than 50 million pixels. Take it in a smaller size."
    return _refused("photo_pixels", sentence)


def _refused(code: str, sentence: str) -> Refused:
    return Refused(code, sentence, field="photos")
