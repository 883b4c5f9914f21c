"""The typefaces: B612 for all it covers, DejaVu Sans for the rest, Waree for Thai, decided per text.

A Kivy label draws with one font and shows a box for what that font lacks, so each text is looked
over first. B612 (Latin, Greek-free, with arrows and ticks) and Waree are shipped with their
licences; DejaVu Sans comes with Kivy.
"""

import struct
import unicodedata
from functools import lru_cache
from pathlib import Path

from kivy.core.text import Label as CoreLabel
from kivy.core.text import LabelBase

FOLDER = Path(__file__).parent / "fonts"
MAIN = "B612"
MONO = "B612 Mono"
FALLBACK = "DejaVuSans"
THAI = "Waree"


def register() -> None:
    """Make the typefaces known to Kivy under :data:`MAIN`, :data:`MONO`."""
    LabelBase.register(
        MAIN,
        fn_regular=str(FOLDER / "B612-Regular.otf"),
        fn_italic=str(FOLDER / "B612-Italic.otf"),
        fn_bold=str(FOLDER / "B612-Bold.otf"),
    )
    LabelBase.register(
        THAI, fn_regular=str(FOLDER / "Waree.ttf"), fn_bold=str(FOLDER / "Waree-Bold.ttf")
    )
    LabelBase.register(MONO, fn_regular=str(FOLDER / "B612Mono-Regular.otf"))


@lru_cache(maxsize=4096)
def font_for(text: str) -> str:
    """The font that has every character of ``text``: B612 where it can, else DejaVu Sans or Waree.

    Where none has them all, the one of the two that lacks fewest.
    """
    characters = {ord(character) for character in text if character not in "\n\r\t"}
    if characters <= covered_by_main():
        return MAIN
    others = {name: len(characters - _covered_by(name)) for name in (FALLBACK, THAI)}
    return min(others, key=lambda name: others[name])


def lacks(text: str) -> str:
    """The characters, each once, that no face has and that would be drawn as boxes."""
    font = font_for(text)
    covered = covered_by_main() if font == MAIN else _covered_by(font)
    drawn = (c for c in dict.fromkeys(text) if unicodedata.category(c) not in ("Cc", "Cf", "Zl", "Zp"))
    return "".join(c for c in drawn if ord(c) not in covered)


@lru_cache(maxsize=2)
def _covered_by(name: str) -> frozenset[int]:
    label = CoreLabel(text=" ", font_name=name)
    label.resolve_font_name()
    return covered_code_points(Path(label.options["font_name_r"]))


def one_line_width(text: str, font_size: float, *, bold: bool = False) -> float:
    """How many pixels the longest line of ``text`` needs when it is not wrapped."""
    return _measured_width(text, round(font_size, 2), bold)


def longest_word_width(text: str, font_size: float, *, bold: bool = False) -> float:
    """How many pixels the longest word of ``text`` needs to stay whole; 0 without a word."""
    return max((one_line_width(word, font_size, bold=bold) for word in text.split()), default=0)


def opened_at_hyphens(text: str, font_size: float, room: float, *, bold: bool = False) -> str:
    """Return the text with a double name that is wider than ``room`` broken at its hyphens, not within a part of it."""
    return " ".join(
        word.replace("-", "-\n") if "-" in word and one_line_width(word, font_size, bold=bold) > room else word
        for word in text.split(" ")
    )


@lru_cache(maxsize=4096)
def _measured_width(text: str, font_size: float, bold: bool) -> float:
    label = CoreLabel(text=text, font_size=font_size, font_name=font_for(text), bold=bold)
    label.resolve_font_name()
    return max((label.get_extents(line)[0] for line in text.split("\n")), default=0)


@lru_cache(maxsize=1)
def covered_by_main() -> frozenset[int]:
    """The code points that both B612 Regular and B612 Bold have a glyph for."""
    faces = ("B612-Regular.otf", "B612-Bold.otf")
    return frozenset.intersection(*(covered_code_points(FOLDER / face) for face in faces))


def covered_code_points(font_file: Path) -> frozenset[int]:
    """The code points a TrueType or OpenType file has a glyph for, from its ``cmap`` table.

    Reads subtables of format 4, which hold the whole basic plane. Raises ``ValueError`` when the
    file has none.
    """
    data = font_file.read_bytes()
    for number in range(struct.unpack_from(">H", data, 4)[0]):
        tag, _check, start, _length = struct.unpack_from(">4sIII", data, 12 + 16 * number)
        if tag == b"cmap":
            return frozenset(_code_points(data, start))
    raise ValueError(f"{font_file.name} has no cmap table")


def _code_points(data: bytes, cmap: int):
    for number in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        offset = struct.unpack_from(">I", data, cmap + 4 + 8 * number + 4)[0]
        if struct.unpack_from(">H", data, cmap + offset)[0] == 4:
            return _segments(data, cmap + offset)
    raise ValueError("no cmap subtable of format 4")


def _segments(data: bytes, table: int):
    count = struct.unpack_from(">H", data, table + 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", data, table + 14)
    starts = struct.unpack_from(f">{count}H", data, table + 16 + 2 * count)
    deltas = struct.unpack_from(f">{count}H", data, table + 16 + 4 * count)
    offsets_at = table + 16 + 6 * count
    for segment in range(count):
        offset = struct.unpack_from(">H", data, offsets_at + 2 * segment)[0]
        for code in range(starts[segment], ends[segment] + 1):
            glyph = code
            if offset:
                place = offsets_at + 2 * segment + offset + 2 * (code - starts[segment])
                glyph = struct.unpack_from(">H", data, place)[0]
                if glyph == 0:
                    continue
            if (glyph + deltas[segment]) & 0xFFFF and code != 0xFFFF:
                yield code


register()
