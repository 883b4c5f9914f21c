"""Photos as cameras write them, made anew for each test: with place, serial number and small previews."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw
from PIL.TiffImagePlugin import IFDRational

SERIAL = "camera serial 77-1234"


def scene(width: int = 640, height: int = 480) -> Image.Image:
    """A shoe of sorts: red above, blue below, so that which way is up can be seen."""
    image = Image.new("RGB", (width, height), (200, 30, 30))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, height // 2, width, height), fill=(30, 30, 200))
    draw.ellipse((width // 4, height // 4, width // 2, height // 2), fill=(240, 240, 240))
    return image


def exif(turn: int = 1, taken: str = "2026:11:20 14:03:12") -> Image.Exif:
    """What a camera writes beside: place, time, its own number, which way up it was held."""
    found = Image.Exif()
    found[0x0112] = turn
    found[0x010F], found[0x0110] = "Invented camera", SERIAL
    found.get_ifd(0x8769)[0x9003] = taken
    place = found.get_ifd(0x8825)
    degrees = (IFDRational(47), IFDRational(22), IFDRational(33))
    place[1], place[2], place[3], place[4] = "N", degrees, "E", degrees
    return found


def jpeg(image: Image.Image | None = None, turn: int = 1, **more) -> bytes:
    """A JPEG as a camera saves it."""
    file = io.BytesIO()
    (image or scene()).save(
        file, "JPEG", exif=exif(turn), comment=f"by {SERIAL}".encode(), quality=88, **more
    )
    return file.getvalue()


def other(sort: str, image: Image.Image | None = None, **more) -> bytes:
    """The same in another format."""
    file = io.BytesIO()
    (image or scene()).save(file, sort, **more)
    return file.getvalue()
