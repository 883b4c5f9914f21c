"""A photo from a file: looked at, freed of what is written beside it, made small enough to keep.

Runs in a worker thread.  A large JPEG is read at a half, a quarter or an
eighth of its size, which the format allows while it is being read, so that 50
megapixels never stand in memory as a whole.
"""

from __future__ import annotations

import io
import logging
import re
import warnings
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from mobile.keeping.picture_bytes import PNG_START, bare_jpeg, bare_png
from mobile.keeping.picture_refusals import PictureRefusal

#: What is kept of one photo at most; enough to see a scratch on a shoe.
MOST_KEPT_PIXELS = 12_000_000
MOST_KEPT_BYTES = 8_000_000
#: What is read at most: of a file, of a picture that can't be read reduced, of one that can.
MOST_FILE_BYTES = 60_000_000
MOST_WHOLE_PIXELS = 20_000_000
MOST_REDUCED_PIXELS = 120_000_000
_QUALITIES = (90, 80, 70)
_FORMATS = ("JPEG", "PNG", "WEBP")
_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
_ORIENTATION, _CAMERA_PART, _TAKEN, _CHANGED = 0x0112, 0x8769, 0x9003, 0x0132
_EXIF_MOMENT = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d)(?::\d\d)?")
_MILLION = 1_000_000
# What a camera wrote beside the picture, a place among it, must not reach any log.
logging.getLogger("PIL").setLevel(logging.WARNING)


@dataclass(frozen=True)
class Picture:
    """A photo as it is kept.  ``done`` says what was done to it, with ``figures``.

    ``taken_at`` is the camera's own clock, without an offset; "" when it says none.
    """

    data: bytes
    media_type: str
    width: int
    height: int
    done: str
    figures: dict[str, Any]
    taken_at: str = ""


@dataclass(frozen=True)
class Shown:
    """A picture small enough for the screen: rows of red, green, blue from the top."""

    width: int
    height: int
    rgb: bytes


def read_file(path: Path) -> bytes:
    """Return the bytes of a file; raise PictureRefusal when it can't be taken."""
    try:
        size = path.stat().st_size
        if size > MOST_FILE_BYTES:
            raise PictureRefusal(
                "photo_file_too_large", file=path.name, megabytes=size // _MILLION, most=MOST_FILE_BYTES // _MILLION
            )
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise PictureRefusal("photo_gone", file=path.name) from error
    except OSError as error:
        raise PictureRefusal("photo_unreadable", file=path.name, reason=error.strerror or "not there") from error
    if not data:
        raise PictureRefusal("photo_empty", file=path.name)
    return data


def prepared(data: bytes, file: str) -> Picture:
    """Return a photo ready to be kept; ``file`` is its name, for refusals.

    Raises PictureRefusal: ``photo_not_a_picture``, ``photo_heic``,
    ``photo_cut_short``, ``photo_too_many_pixels``.
    """
    image = _opened(data, file)
    width, height = image.size
    pixels = width * height
    _refuse_too_many(image, pixels, file)
    turn, taken_at = _written_beside(image)
    sort = "PNG" if image.format == "PNG" else "JPEG"
    small = pixels <= MOST_KEPT_PIXELS
    if small and turn == 1 and image.format != "WEBP":
        bare = (bare_png if sort == "PNG" else bare_jpeg)(data, file)
        _try(bare, file)
        if len(bare) <= MOST_KEPT_BYTES:
            kind = f"image/{sort.lower()}"
            return Picture(bare, kind, width, height, "as_it_was", {}, taken_at)
    _reduce_reading(image)
    # Step by step under one name, so that each large one is let go of at once.
    image = _plain(_loaded(image, file))
    image = _fitted(image)
    kept = _upright(image, turn)
    data_kept = _encoded(kept)
    figures: dict[str, Any] = {}
    done = "turned" if turn != 1 else "another_format"
    if not small:
        across, up = (height, width) if turn >= 5 else (width, height)
        done = "smaller"
        figures = {"width": kept.width, "height": kept.height, "from_width": across, "from_height": up}
    elif len(data) > MOST_KEPT_BYTES:
        done, figures = "lighter", {"from_megabytes": round(len(data) / _MILLION)}
    return Picture(data_kept, "image/jpeg", kept.width, kept.height, done, figures, taken_at)


def shown(data: bytes, most_across: int, most_up: int) -> Shown:
    """Return a kept photo as it fits a place on the screen, in pixels.

    Raises PictureRefusal as `prepared`.
    """
    image = _opened(data, "")
    share = min(most_across / image.width, most_up / image.height, 1.0)
    size = (max(1, round(image.width * share)), max(1, round(image.height * share)))
    image.draft("RGB", size)
    small = _plain(_loaded(image, "")).resize(size, reducing_gap=2.0)
    return Shown(small.width, small.height, small.tobytes())


def _opened(data: bytes, file: str):
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            # How many pixels are too many is decided below, with words.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(data), formats=_FORMATS)
    except Image.DecompressionBombError as error:
        raise _too_many("many", MOST_WHOLE_PIXELS, file) from error
    except UnidentifiedImageError as error:
        if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS:
            raise PictureRefusal("photo_heic", file=file) from error
        if data[:3] == b"\xff\xd8\xff" or data[:8] == PNG_START:
            raise PictureRefusal("photo_cut_short", file=file) from error
        raise PictureRefusal("photo_not_a_picture", file=file) from error
    except (OSError, SyntaxError, ValueError) as error:
        raise PictureRefusal("photo_cut_short", file=file) from error


def _refuse_too_many(image, pixels: int, file: str) -> None:
    """A JPEG whose scans refine each other has to stand in memory whole, as other formats do."""
    reduced = image.format in ("JPEG", "MPO") and not image.info.get("progressive")
    most = MOST_REDUCED_PIXELS if reduced else MOST_WHOLE_PIXELS
    if pixels > most:
        raise _too_many(round(pixels / _MILLION), most, file)


def _too_many(megapixels: object, most: int, file: str) -> PictureRefusal:
    return PictureRefusal("photo_too_many_pixels", file=file, megapixels=megapixels, most=most // _MILLION)


def _written_beside(image) -> tuple[int, str]:
    """Return which way up the camera was held (1 to 8, EXIF) and when it was taken."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            exif = image.getexif()
            turn = int(exif.get(_ORIENTATION, 1))
            taken = str(exif.get_ifd(_CAMERA_PART).get(_TAKEN) or exif.get(_CHANGED) or "")
    except Exception:  # anything may be written there; the picture is as good without it
        return 1, ""
    found = _EXIF_MOMENT.match(taken)
    moment = ""
    if found:
        year, month, day, hour, minute = found.groups()
        moment = f"{year}-{month}-{day} {hour}:{minute}"
    return turn if 1 <= turn <= 8 else 1, moment


def _try(data: bytes, file: str) -> None:
    """Read a picture through to its end, at an eighth where that is possible."""
    image = _opened(data, file)
    image.draft("RGB", (image.width // 8 or 1, image.height // 8 or 1))
    _loaded(image, file)


def _reduce_reading(image) -> None:
    """Have a picture's pixels so much reduced while they are read that memory bears it."""
    by = 1
    while image.width * image.height / by**2 > MOST_WHOLE_PIXELS:
        by *= 2
    if by > 1:
        image.draft("RGB", (image.width // by, image.height // by))


def _loaded(image, file: str):
    from PIL import Image

    try:
        image.load()
    except Image.DecompressionBombError as error:
        raise _too_many("many", MOST_WHOLE_PIXELS, file) from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise PictureRefusal("photo_cut_short", file=file) from error
    return image


def _plain(image):
    """Return red, green and blue; what is seen through stands on white."""
    from PIL import Image

    if image.mode == "RGB" and "transparency" not in image.info:
        return image  # a conversion would be a copy, and a large one
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        seen = image if image.mode == "RGBA" else image.convert("RGBA")
        white = Image.new("RGB", seen.size, "white")
        white.paste(seen, mask=seen.getchannel("A"))
        return white
    if image.mode.startswith("I"):  # sixteen bits of grey: keep the upper eight
        return image.point(lambda level: level / 256).convert("L").convert("RGB")
    return image.convert("RGB")


def _upright(image, turn: int):
    from PIL.Image import Transpose

    ways = {
        2: Transpose.FLIP_LEFT_RIGHT, 3: Transpose.ROTATE_180, 4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE, 6: Transpose.ROTATE_270, 7: Transpose.TRANSVERSE, 8: Transpose.ROTATE_90,
    }
    return image.transpose(ways[turn]) if turn in ways else image


def _fitted(image):
    """Return a picture with no more pixels than are kept."""
    share = (MOST_KEPT_PIXELS / (image.width * image.height)) ** 0.5
    if share >= 1:
        return image
    return image.resize((int(image.width * share) or 1, int(image.height * share) or 1), reducing_gap=2.0)


def _encoded(image) -> bytes:
    """Return a JPEG with nothing beside the picture, no heavier than is kept."""
    while True:
        for quality in _QUALITIES:
            file = io.BytesIO()
            image.save(file, "JPEG", quality=quality)
            if file.tell() <= MOST_KEPT_BYTES:
                return bare_jpeg(file.getvalue(), "")
        image = image.reduce(2)
