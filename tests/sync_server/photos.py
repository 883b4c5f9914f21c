"""Photos for the server's tests: bytes of a wanted size, and what an entry says of them."""

from __future__ import annotations

import hashlib
import random
import struct
import zlib


def png(size: int, seed: int = 1, width: int = 640, height: int = 480) -> bytes:
    """Return a PNG of about ``size`` bytes whose content can't be packed; the same for a seed."""
    noise = random.Random(seed).randbytes(max(size - 100, 10))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(content)) + sort + content + struct.pack(">I", zlib.crc32(sort + content))
        for sort, content in ((b"IHDR", head), (b"IDAT", noise), (b"IEND", b""))
    )


def sha256(data: bytes) -> str:
    """Return the name of bytes."""
    return hashlib.sha256(data).hexdigest()


def photo_of(name: str, photo: str = "p-1") -> dict:
    """Return the body of an entry that names bytes."""
    return {
        "photo": photo, "shows": "side_view", "sha256": name, "media_type": "image/png",
        "size_kb": "1", "width_px": "640", "height_px": "480", "marks": [],
    }
