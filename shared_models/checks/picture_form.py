"""What bytes sent as a photo really are, read from the bytes and not from what is said of them.

The tablet keeps a photo without what the camera wrote beside it; whoever takes
one in looks again, because the other side may be somebody else's program.
Nothing is decoded: both formats are chains of labelled parts, and the size in
pixels stands in one of the first.  JPEG: ITU-T T.81, Annex B; PNG: ISO/IEC
15948 (2004), clause 5; EXIF: CIPA DC-008, 4.6 (tag 0x8825 points at the place).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from shared_models.quantities.refusals import Refusal

#: What one photo may have: more than any tablet keeps, less than would hurt to open.
MOST_BYTES = 32 * 1024 * 1024
MOST_PIXELS = 40_000_000
JPEG, PNG = "image/jpeg", "image/png"
_PNG_START = b"\x89PNG\r\n\x1a\n"
_SOS, _EOI, _APP1 = 0xDA, 0xD9, 0xE1
_ALONE = frozenset(range(0xD0, 0xD8)) | {0x01}
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_PLACE = 0x8825
#: Position as XMP writes it, in a JPEG's APP1 or a PNG's text.
_PLACE_IN_TEXT = re.compile(rb"GPS(Latitude|Longitude|Position|Coordinates)", re.IGNORECASE)
_SCAN_GOES_ON = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")


class PictureForm(Refusal):
    """The bytes are not a photo that is taken.

    Codes: ``attachment_not_a_picture``, ``attachment_cut_short``,
    ``attachment_more_after_picture``, ``attachment_too_many_pixels`` (figures
    ``megapixels``, ``most``), ``attachment_says_where`` (position),
    ``attachment_too_large`` (figures ``megabytes``, ``most``).
    """


@dataclass(frozen=True)
class Looked:
    """A photo's type by its content, and its size in pixels."""

    media_type: str
    width: int
    height: int


def refuse_size(size: int) -> None:
    """Refuse more bytes than are taken of one photo."""
    if size > MOST_BYTES:
        raise PictureForm("attachment_too_large", megabytes=-(-size // 1_000_000), most=MOST_BYTES // 1_000_000)


def looked_at(data: bytes) -> Looked:
    """Return what the bytes are; raise PictureForm where they are not taken."""
    refuse_size(len(data))
    if data[:3] == b"\xff\xd8\xff":
        found = _jpeg(data)
    elif data[:8] == _PNG_START:
        found = _png(data)
    else:
        raise PictureForm("attachment_not_a_picture")
    if not found.width or not found.height:
        raise PictureForm("attachment_cut_short")
    if found.width * found.height > MOST_PIXELS:
        raise PictureForm(
            "attachment_too_many_pixels", megapixels=-(-found.width * found.height // 1_000_000),
            most=MOST_PIXELS // 1_000_000,
        )
    return found


def _jpeg(data: bytes) -> Looked:
    at, width, height, scans = 2, 0, 0, 0
    while True:
        marker, at = _marker(data, at)
        if marker == _EOI:
            break
        if marker in _ALONE:
            continue
        length = int.from_bytes(data[at:at + 2], "big")
        if length < 2 or at + length > len(data):
            raise PictureForm("attachment_cut_short")
        content = data[at + 2:at + length]
        at += length
        if marker in _FRAMES:
            height, width = int.from_bytes(content[1:3], "big"), int.from_bytes(content[3:5], "big")
        elif marker == _APP1:
            _refuse_place(content)
        elif marker == _SOS:
            scans += 1
            found = _SCAN_GOES_ON.search(data, at)
            if not found:
                raise PictureForm("attachment_cut_short")
            at = found.start()
    if not scans:
        raise PictureForm("attachment_cut_short")
    if at != len(data):
        raise PictureForm("attachment_more_after_picture")
    return Looked(JPEG, width, height)


def _marker(data: bytes, at: int) -> tuple[int, int]:
    if at + 1 >= len(data) or data[at] != 0xFF:
        raise PictureForm("attachment_cut_short")
    while at < len(data) and data[at] == 0xFF:
        at += 1
    if at >= len(data):
        raise PictureForm("attachment_cut_short")
    return data[at], at + 1


def _png(data: bytes) -> Looked:
    at, width, height, has_data = len(_PNG_START), 0, 0, False
    while True:
        length = int.from_bytes(data[at:at + 4], "big")
        sort, end = data[at + 4:at + 8], at + 12 + length
        if len(sort) < 4 or end > len(data):
            raise PictureForm("attachment_cut_short")
        content = data[at + 8:at + 8 + length]
        if sort == b"IHDR":
            width, height = int.from_bytes(content[:4], "big"), int.from_bytes(content[4:8], "big")
        elif sort == b"eXIf":
            _refuse_place(b"Exif\0\0" + content)
        elif sort in (b"tEXt", b"iTXt", b"zTXt"):  # camera data hides in all three, one of them packed
            raise PictureForm("attachment_says_where")
        has_data = has_data or sort == b"IDAT"
        at = end
        if sort == b"IEND":
            break
    if not has_data:
        raise PictureForm("attachment_cut_short")
    if at != len(data):
        raise PictureForm("attachment_more_after_picture")
    return Looked(PNG, width, height)


def _refuse_place(content: bytes) -> None:
    """Refuse camera data that says where; what can't be read might, too."""
    if not content.startswith(b"Exif\0"):
        if _PLACE_IN_TEXT.search(content):
            raise PictureForm("attachment_says_where")
        return
    tags = _first_tags(content[6:])
    if tags is None or _PLACE in tags:
        raise PictureForm("attachment_says_where")


def _first_tags(tiff: bytes) -> set[int] | None:
    """Return the tags of the first directory, None where it can't be read."""
    order = {b"II": "little", b"MM": "big"}.get(tiff[:2])
    if order is None or len(tiff) < 8:
        return None
    at = int.from_bytes(tiff[4:8], order)  # type: ignore[arg-type]
    count = int.from_bytes(tiff[at:at + 2], order)  # type: ignore[arg-type]
    if at + 2 + 12 * count > len(tiff):
        return None
    return {
        int.from_bytes(tiff[at + 2 + 12 * n:at + 4 + 12 * n], order)  # type: ignore[arg-type]
        for n in range(count)
    }
