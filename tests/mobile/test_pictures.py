"""A photo is freed of what a camera writes beside it, kept small, and refused in words."""

from __future__ import annotations

import io
import random
import struct
import subprocess
import sys
import zlib

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from mobile.keeping import pictures
from mobile.keeping.picture_refusals import PictureRefusal
from mobile.keeping.pictures import MOST_KEPT_BYTES, MOST_KEPT_PIXELS, prepared, read_file, shown
from shared_models.wording.attachments import done_words
from shared_models.wording.refusals import refusal_sentence
from tests.mobile.making_photos import SERIAL, exif, jpeg, other, scene


def pixels(data: bytes) -> bytes:
    return Image.open(io.BytesIO(data)).convert("RGB").tobytes()


def must_be_bare(data: bytes) -> None:
    """Nothing of place, camera or time is left in the bytes."""
    image = Image.open(io.BytesIO(data))
    assert not image.getexif() and "exif" not in image.info and "comment" not in image.info
    for left in (SERIAL.encode(), b"Exif", b"Invented", b"2026:11:20", b"http://ns.adobe.com", b"parameters"):
        assert left not in data


def test_a_photo_is_kept_to_the_pixel_and_without_place_and_camera():
    data = jpeg() + b"a few seconds of film behind the picture, " + SERIAL.encode()
    picture = prepared(data, "shoe.jpg")
    assert (picture.width, picture.height, picture.media_type, picture.done) == (640, 480, "image/jpeg", "as_it_was")
    assert pixels(picture.data) == pixels(data)
    must_be_bare(picture.data)
    assert picture.taken_at == "2026-11-20 14:03", "when it was taken goes into the record, in plain sight"


@pytest.mark.parametrize("more", [{"progressive": True}, {"restart_marker_rows": 1}, {"subsampling": 0}])
def test_every_way_of_writing_a_jpeg_is_kept_to_the_pixel(more):
    data = jpeg(**more)
    picture = prepared(data, "shoe.jpg")
    assert picture.done == "as_it_was" and pixels(picture.data) == pixels(data)
    must_be_bare(picture.data)


@pytest.mark.parametrize("turn", range(2, 9))
def test_a_photo_taken_with_the_camera_turned_stands_upright(turn):
    back = {2: 0, 3: 3, 4: 1, 5: 5, 6: 2, 7: 6, 8: 4}[turn]
    turned = scene().transpose(Image.Transpose(back))
    picture = prepared(jpeg(turned, turn=turn), "shoe.jpg")
    assert (picture.width, picture.height, picture.done) == (640, 480, "turned")
    image = Image.open(io.BytesIO(picture.data))
    assert image.getpixel((600, 40))[0] > 150 > image.getpixel((600, 440))[0], "red above, blue below"
    assert image.getpixel((230, 180))[1] > 200, "the white spot stays at the left"
    must_be_bare(picture.data)


def test_a_png_keeps_its_pixels_and_loses_its_notes():
    notes = PngInfo()
    notes.add_text("parameters", SERIAL)
    data = other("PNG", pnginfo=notes, exif=exif())
    picture = prepared(data, "scan.png")
    assert (picture.media_type, picture.done) == ("image/png", "as_it_was")
    assert pixels(picture.data) == pixels(data)
    must_be_bare(picture.data)


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "1", "I;16", "CMYK"])
def test_pictures_of_any_depth_are_shown(mode):
    image = scene().convert("L").convert("I;16") if mode == "I;16" else scene().convert("RGB").convert(mode)
    data = other("TIFF" if mode == "CMYK" else "PNG", image) if mode != "CMYK" else jpeg(image)
    found = shown(prepared(data, "scan").data, 100, 100)
    assert (found.width, found.height, len(found.rgb)) == (100, 75, 100 * 75 * 3)


def test_a_webp_is_kept_as_a_jpeg_and_says_so():
    picture = prepared(other("WEBP", exif=exif()), "shoe.webp")
    assert (picture.media_type, picture.done) == ("image/jpeg", "another_format")
    must_be_bare(picture.data)


def test_more_megapixels_than_are_kept_become_a_smaller_copy_and_it_says_so():
    data = jpeg(scene(5000, 3600))
    picture = prepared(data, "shoe.jpg")
    assert picture.width * picture.height <= MOST_KEPT_PIXELS and abs(picture.width / picture.height - 5000 / 3600) < 0.01
    assert "instead of 5000 by 3600" in done_words(picture.done, **picture.figures)
    must_be_bare(picture.data)


def test_a_photo_heavier_than_is_kept_becomes_lighter():
    noise = Image.frombytes("RGB", (3000, 2000), random.Random(1).randbytes(3000 * 2000 * 3))
    data = jpeg(noise, subsampling=0)
    assert len(data) > MOST_KEPT_BYTES
    picture = prepared(data, "noise.jpg")
    assert len(picture.data) <= MOST_KEPT_BYTES and picture.done == "lighter"
    assert "Heavier than is kept here" in done_words(picture.done, **picture.figures)


BIG = """
import resource, sys
from pathlib import Path
from PIL import JpegImagePlugin, PngImagePlugin
from mobile.keeping.pictures import prepared, read_file
data = read_file(Path(sys.argv[1]))
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
picture = prepared(data, "big.jpg")
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(picture.width, picture.height, (after - before) // 1024)
"""


def test_fifty_megapixels_never_stand_in_memory_whole(tmp_path):
    file = tmp_path / "big.jpg"
    Image.effect_noise((8192, 6144), 40).save(file, quality=80)
    told = subprocess.run([sys.executable, "-c", BIG, str(file)], capture_output=True, text=True, check=True)
    width, height, grown_mb = map(int, told.stdout.split())
    assert width * height <= MOST_KEPT_PIXELS
    assert grown_mb < 200


def refusal_of(data: bytes, name: str = "photo.jpg") -> PictureRefusal:
    with pytest.raises(PictureRefusal) as caught:
        prepared(data, name)
    assert name in refusal_sentence(caught.value)
    return caught.value


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it has any number of pixels."""
    def part(sort: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + sort + content + struct.pack(">I", zlib.crc32(sort + content))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", zlib.compress(bytes(100_000))) + part(b"IEND", b"")


@pytest.mark.parametrize(("data", "code"), [
    (b"left shoe, see notes\n" * 50, "photo_not_a_picture"),
    (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(400), "photo_heic"),
    (bomb(9000, 9000), "photo_too_many_pixels"),
    (bomb(60_000, 60_000), "photo_too_many_pixels"),
    (bomb(2_000_000_000, 2_000_000_000), "photo_too_many_pixels"),
    (b"\xff\xd8\xff\xe0\x00\x10JFIF", "photo_cut_short"),
], ids=["text named .jpg", "heic", "bomb", "larger bomb", "impossible bomb", "only a beginning"])
def test_what_is_no_photo_is_refused_in_words(data, code):
    assert refusal_of(data).code == code


@pytest.mark.parametrize("sort", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.97])
def test_a_photo_cut_short_is_refused_wherever_it_was_cut(sort, share):
    noise = Image.effect_noise((400, 300), 80).convert("RGB")
    data = jpeg(noise) if sort == "JPEG" else other(sort, noise)
    code = refusal_of(data[:int(len(data) * share)]).code
    assert code in ("photo_cut_short", "photo_not_a_picture")


def test_any_byte_wrong_is_a_photo_or_a_refusal_and_never_a_fault():
    data, chance = jpeg(scene(160, 120)), random.Random(5)
    for _ in range(300):
        spoiled = bytearray(data)
        for _ in range(chance.randint(1, 4)):
            spoiled[chance.randrange(len(spoiled))] = chance.randrange(256)
        try:
            picture = prepared(bytes(spoiled), "photo.jpg")
        except PictureRefusal:
            continue
        must_be_bare(picture.data)


def test_a_file_gone_empty_or_too_large_is_refused_in_words(tmp_path, monkeypatch):
    file = tmp_path / "shoe.jpg"
    for make, code in ((None, "photo_gone"), (b"", "photo_empty"), (b"x" * 40, "photo_file_too_large")):
        if make is not None:
            file.write_bytes(make)
        monkeypatch.setattr(pictures, "MOST_FILE_BYTES", 30)
        with pytest.raises(PictureRefusal) as caught:
            read_file(file)
        assert caught.value.code == code and "shoe.jpg" in refusal_sentence(caught.value)
    with pytest.raises(PictureRefusal) as caught:
        read_file(tmp_path)
    assert caught.value.code in ("photo_unreadable", "photo_file_too_large")
