"""The picture in a JPEG or PNG file byte for byte, without anything written beside it.

A camera writes the place, the time, its own serial number, small previews and
sometimes a few seconds of film beside the picture.  Both formats are chains of
labelled parts; what is kept here are the parts a picture is made of.
JPEG: ITU-T T.81, Annex B; PNG: ISO/IEC 15948 (2004), clause 5.
"""

from __future__ import annotations

from mobile.keeping.picture_refusals import PictureRefusal

_EOI, _SOS, _APP0, _APP2, _APP14 = 0xD9, 0xDA, 0xE0, 0xE2, 0xEE
_STUFFED, _RESTARTS, _TEMPORARY = 0x00, range(0xD0, 0xD8), 0x01
#: Frames, tables, scans and restarts: what the picture itself is made of.
_OF_PICTURE = frozenset(range(0xC0, 0xD0)) - {0xC8} | {_SOS, 0xDB, 0xDC, 0xDD}
PNG_START = b"\x89PNG\r\n\x1a\n"
#: Parts of a PNG that change what is seen; text, time and camera data are not among them.
_PNG_KEPT = (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"bKGD")


def bare_jpeg(data: bytes, file: str) -> bytes:
    """Return the first picture of a JPEG file, its compressed data untouched.

    Raises PictureRefusal ``photo_cut_short`` (figure ``file``).
    """
    found, at = bytearray(b"\xff\xd8"), 2
    while True:
        marker, at = _marker(data, at, file)
        if marker == _EOI:
            return bytes(found + b"\xff\xd9")
        if marker in _RESTARTS or marker == _TEMPORARY:  # these stand alone
            continue
        end = _segment_end(data, at, file)
        if _is_picture(marker, data[at + 2:end]):
            found += b"\xff" + bytes([marker]) + data[at:end]
        at = end
        if marker == _SOS:
            scan_end = _scan_end(data, at, file)
            found += data[at:scan_end]
            at = scan_end


def _marker(data: bytes, at: int, file: str) -> tuple[int, int]:
    """Return the marker at a place and where its segment begins."""
    if at >= len(data) or data[at] != 0xFF:
        raise PictureRefusal("photo_cut_short", file=file)
    while at < len(data) and data[at] == 0xFF:  # fill bytes are allowed before a marker
        at += 1
    if at >= len(data):
        raise PictureRefusal("photo_cut_short", file=file)
    return data[at], at + 1


def _segment_end(data: bytes, at: int, file: str) -> int:
    length = int.from_bytes(data[at:at + 2], "big")
    if length < 2 or at + length > len(data):
        raise PictureRefusal("photo_cut_short", file=file)
    return at + length


def _is_picture(marker: int, content: bytes) -> bool:
    if marker == _APP0:
        # JFIF without a small picture of its own in its last two bytes.
        return content[:5] == b"JFIF\0" and not any(content[12:14])
    if marker == _APP2:
        return content[:12] == b"ICC_PROFILE\0"
    if marker == _APP14:
        return content[:5] == b"Adobe"
    return marker in _OF_PICTURE


def _scan_end(data: bytes, at: int, file: str) -> int:
    """Return where the compressed data of a scan ends: at the next real marker."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise PictureRefusal("photo_cut_short", file=file)
        following = data[at + 1]
        if following != _STUFFED and following not in _RESTARTS and following != 0xFF:
            return at
        at += 1 if following == 0xFF else 2


def bare_png(data: bytes, file: str) -> bytes:
    """Return a PNG with the parts that change what is seen, and no others.

    Raises PictureRefusal ``photo_cut_short`` (figure ``file``).
    """
    found, at = bytearray(PNG_START), len(PNG_START)
    while True:
        end = at + 12 + int.from_bytes(data[at:at + 4], "big")
        sort = data[at + 4:at + 8]
        if len(sort) < 4 or end > len(data):
            raise PictureRefusal("photo_cut_short", file=file)
        if sort in _PNG_KEPT:
            found += data[at:end]
        if sort == b"IEND":
            return bytes(found)
        at = end
