"""Every format and orientation comes in right; what is no photo is refused in one line."""

from __future__ import annotations

import io
import os
import struct
import threading
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from reader.errors import ExitCode, InputError, PhotoError
from reader.photo.header import LARGEST_PIXELS
from reader.photo.load import load

FIXTURES = Path(__file__).parents[2] / "fixtures" / "photo"
CENTRES = ((12, 20), (12, 60), (36, 20), (36, 60))


def close(photo, picture, tolerance=12):
    assert photo.pixels.dtype == np.uint8 and photo.pixels.shape == picture.shape
    for row, col in CENTRES:
        gap = np.abs(photo.pixels[row, col].astype(int) - picture[row, col])
        assert gap.max() <= tolerance, (row, col, photo.pixels[row, col])


def refused(source, *words, **options):
    """The message of the one-line error, checked for its words."""
    with pytest.raises(PhotoError) as caught:
        load(source, **options)
    text = str(caught.value)
    assert "\n" not in text and len(text) < 400, text
    assert caught.value.remedy and caught.value.exit_code == ExitCode.BAD_PHOTO
    for word in words:
        assert word in text, text
    return text


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("JPEG", {"quality": 95, "subsampling": 0}),
        ("JPEG", {"quality": 95, "progressive": True}),
        ("PNG", {}),
        ("WEBP", {"lossless": True}),
        ("WEBP", {"quality": 95}),
        ("TIFF", {}),
        ("TIFF", {"compression": "tiff_lzw"}),
        ("TIFF", {"compression": "jpeg"}),
    ],
)
def test_formats(four_colours, encode, kind, options):
    close(load(encode(four_colours, kind, **options)), four_colours)


@pytest.mark.parametrize("name", ["upright", "turned", "deep"])
def test_heic_comes_upright_once(four_colours, name):
    close(load(FIXTURES / f"{name}.heic"), four_colours)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_orientation_as_pillow_applies_it(four_colours, encode, kind, orientation):
    """Reference: Pillow's own ImageOps.exif_transpose."""
    tags = Image.Exif()
    tags[0x0112] = orientation
    lossless = {"WEBP": {"lossless": True}, "JPEG": {"quality": 100}}.get(kind, {})
    data = encode(four_colours, kind, exif=tags, **lossless)
    with Image.open(io.BytesIO(data)) as image:
        expected = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    photo = load(data)
    assert np.array_equal(photo.pixels, expected)
    # and against the tag's definition: the file's first pixel lies where the tag says
    rows, cols = photo.shape
    corner = {1: (0, 0), 2: (0, -1), 3: (-1, -1), 4: (-1, 0)} | {
        5: (0, 0), 6: (0, -1), 7: (-1, -1), 8: (-1, 0)
    }  # fmt: skip
    assert abs(photo.pixels[corner[orientation]].astype(int) - (220, 30, 30)).max() < 12
    assert (rows, cols) == ((48, 80) if orientation < 5 else (80, 48))


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_nonsense_orientation_is_ignored(four_colours, encode, value):
    tags = Image.Exif()
    tags[0x0112] = value
    close(load(encode(four_colours, "JPEG", exif=tags, quality=95)), four_colours)


def test_broken_exif_does_not_lose_the_photo(four_colours, encode):
    for exif in (b"Exif\0\0", b"Exif\0\0II*\0\xff\xff\xff\xff", b"Exif\0\0MM\0*" + b"\xff" * 40):
        close(load(encode(four_colours, "JPEG", exif=exif, quality=95)), four_colours)


@pytest.mark.parametrize("mode", ["CMYK", "YCbCr", "L"])
def test_jpeg_colour_modes(four_colours, encode, mode):
    photo = load(encode(Image.fromarray(four_colours).convert(mode), "JPEG", quality=95))
    if mode == "L":
        four_colours = np.asarray(Image.fromarray(four_colours).convert("L").convert("RGB"))
    close(photo, four_colours)


@pytest.mark.parametrize("mode", ["P", "L", "LA", "RGBA", "1"])
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_other_modes(four_colours, encode, mode, kind):
    image = Image.fromarray(four_colours).convert(mode, dither=Image.Dither.NONE)
    photo = load(encode(image, kind))
    close(photo, np.asarray(image.convert("RGB")), 3)


def test_transparency_turns_white(four_colours, encode):
    alpha = np.full((48, 80), 255, np.uint8)
    alpha[:, 40:] = 0
    photo = load(encode(np.dstack([four_colours, alpha]), "PNG"))
    assert (photo.pixels[12, 60] == 255).all() and tuple(photo.pixels[12, 20]) == (220, 30, 30)
    palette = Image.fromarray(four_colours).quantize(4)
    clear = palette.getpixel((60, 12))
    photo = load(encode(palette, "PNG", transparency=clear))
    assert (photo.pixels[12, 60] == 255).all() and photo.pixels[12, 20, 0] > 200


@pytest.mark.parametrize("top", [255, 1023, 4095, 16383, 65535])
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_deep_greyscale_keeps_its_steps(encode, top, kind):
    ramp = np.linspace(0, top, 256).astype(np.uint16)[None].repeat(40, 0)
    photo = load(encode(Image.fromarray(ramp), kind))
    assert np.abs(photo.pixels[20, :, 0].astype(int) - np.arange(256)).max() <= 1


def test_float_tiff(encode):
    ramp = np.linspace(0, 1, 256, dtype=np.float32)[None].repeat(40, 0)
    ramp[0, :3] = np.nan, np.inf, -np.inf
    photo = load(encode(Image.fromarray(ramp), "TIFF"))
    assert np.abs(photo.pixels[20, :, 0].astype(int) - np.arange(256)).max() <= 1


def test_sixteen_bit_colour_png(four_colours):
    deep = four_colours.astype(">u2") * 257
    rows = b"".join(b"\0" + row.tobytes() for row in deep)
    close(load(png_of(80, 48, 16, 2, zlib.compress(rows))), four_colours, 1)


def test_phone_jpeg_with_a_second_picture(four_colours, encode):
    """Phones append a gain map or a depth map: the first picture is the photo."""
    main = Image.fromarray(four_colours)
    data = encode(main, "MPO", save_all=True, append_images=[main.rotate(180)], quality=95)
    close(load(data), four_colours)


def test_names_part_and_box(four_colours, encode, tmp_path):
    path = tmp_path / "sidewall.png"
    path.write_bytes(encode(four_colours, "PNG"))
    photo = load(path, part="tyre", box=(70, 10, 40, 12))
    assert (photo.name, photo.part, photo.box) == (str(path), "tyre", (70, 10, 40, 12))
    assert load(path, "left side").name == "left side"
    assert load(path.read_bytes()).name == "photo"


@pytest.mark.parametrize("box", [(80, 0, 5, 5), (0, 48, 5, 5), (-9, 0, 9, 5), (1, 1, 0, 5)])
def test_box_outside_the_photo(four_colours, encode, box):
    with pytest.raises(InputError, match="outside sidewall"):
        load(encode(four_colours, "PNG"), "sidewall", box=box)


def png_of(width, height, depth, colour, data, extra=b""):
    def chunk(kind, body):
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    parts = chunk(b"IHDR", header), extra, chunk(b"IDAT", data), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize(
    "side", [(9000, 9000), (60000, 60000), (2**31 - 1, 2**31 - 1), (33000, 20)]
)
def test_gigantic_is_refused_on_its_header(side):
    refused(png_of(*side, 8, 2, zlib.compress(b"\0" * 100)), "bomb.png", "smaller", name="bomb.png")


def test_gigantic_webp_jpeg_tiff_and_heic(encode):
    webp = bytearray(encode(Image.new("L", (64, 64)), "WEBP"))
    place = webp.index(b"\x9d\x01\x2a") + 3
    webp[place : place + 4] = struct.pack("<HH", 16383, 16383)
    refused(bytes(webp), "pixels", "smaller")
    jpeg = bytearray(encode(Image.new("L", (64, 64)), "JPEG"))
    place = jpeg.index(b"\xff\xc0") + 5
    jpeg[place : place + 4] = struct.pack(">HH", 65000, 65000)
    refused(bytes(jpeg), "too many pixels", "smaller")
    tiff = bytearray(encode(Image.new("L", (64, 64)), "TIFF"))
    for tag in (256, 257):
        place = tiff.index(struct.pack("<HH", tag, 4)) + 8
        tiff[place : place + 4] = struct.pack("<I", 50000)
    refused(bytes(tiff), "too many pixels", "smaller")
    heic = bytearray((FIXTURES / "upright.heic").read_bytes())
    place = heic.index(b"ispe") + 8
    heic[place : place + 8] = struct.pack(">II", 60000, 60000)
    refused(bytes(heic))


def test_fifty_megapixels_are_accepted_by_size():
    assert 8160 * 6120 < 8192 * 6144 <= LARGEST_PIXELS < 60_000_000


def test_tiny_is_refused(encode):
    refused(encode(np.zeros((1, 1, 3), np.uint8), "PNG"), "1 x 1", "too few")


@pytest.mark.parametrize("kind", ["WEBP", "PNG"])
def test_animated(four_colours, encode, kind):
    frames = [Image.fromarray(np.roll(four_colours, step, 1)) for step in (0, 9, 18)]
    data = encode(frames[0], kind, save_all=True, append_images=frames[1:], duration=100)
    refused(data, "dance", "animated", "save the one picture", name="dance")


def test_tiff_pages(four_colours, encode):
    page = Image.fromarray(four_colours)
    refused(encode(page, "TIFF", save_all=True, append_images=[page]), "several pages")
    small = page.resize((20, 12))
    small.encoderinfo = {"tiffinfo": {254: 1}}
    close(load(encode(page, "TIFF", save_all=True, append_images=[small])), four_colours)


@pytest.mark.parametrize(
    ("head", "word"),
    [
        (b"GIF89a" + bytes(50), "GIF"),
        (b"BM" + bytes(50), "BMP"),
        (b"%PDF-1.7\n", "PDF"),
        (b"PK\x03\x04" + bytes(50), "zip"),
        (b"\n <SVG width=", "SVG"),
        (b"<!doctype html>", "web page"),
        (b"\0\0\0\x1cftypavif" + bytes(50), "AVIF"),
        (b"\0\0\0\x1cftypisom" + bytes(50), "video"),
        (b"47-507\n40-622\n", "not a picture"),
        (bytes(1000), "not a picture"),
        (b"\xff\xd8\xff", "not a picture"),
        (b"\x89PNG\r\n\x1a\n", "not a picture"),
        (b"", "empty"),
    ],
)
def test_strangers(head, word):
    refused(head, "part 7", word, name="part 7")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
@pytest.mark.parametrize("share", [0.02, 0.2, 0.6, 0.95])
def test_cut_off(encode, kind, share):
    rough = np.random.default_rng(1).integers(0, 255, (200, 300, 3), np.uint8)
    data = encode(rough, kind)
    refused(data[: int(len(data) * share)], "cut.jpg", name="cut.jpg")


def test_cut_off_heic():
    data = (FIXTURES / "upright.heic").read_bytes()
    for keep in (20, 200, len(data) - 40):
        refused(data[:keep], "photo")


def test_heic_item_of_an_unprintable_kind():
    """The decoder would end the process on it."""
    data = bytearray((FIXTURES / "turned.heic").read_bytes())
    data[data.index(b"Exif") + 2] = 0xCA
    refused(bytes(data), "damaged")


def test_paths(tmp_path, four_colours, encode):
    refused(tmp_path / "gone.jpg", "gone.jpg", "does not exist")
    refused(tmp_path, "is a folder")
    refused(tmp_path / ("x" * 5000), "can't be opened")
    refused(Path("nul\0byte.jpg"), "can't be opened")
    refused(tmp_path / "two\nlines.jpg", "two\\nlines.jpg")
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff\xfe.jpg"))
    refused(odd, "does not exist").encode()
    odd.write_bytes(encode(four_colours, "PNG"))
    close(load(odd), four_colours)  # the content counts, not the ending
    (tmp_path / "file").write_bytes(b"x")
    refused(tmp_path / "file" / "below.jpg", "can't be opened")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    refused(tmp_path / "loop", "loop")


def test_pipes_and_devices_do_not_block(tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    for path in (tmp_path / "pipe.jpg", Path("/dev/zero"), Path("/dev/null")):
        done = threading.Event()

        def try_it(path=path, done=done):
            refused(path, "device or a pipe")
            done.set()

        threading.Thread(target=try_it, daemon=True).start()
        assert done.wait(20)


def test_damaged_files_give_photos_or_photo_errors(four_colours, encode):
    """Seeded damage to headers and bodies of every format: never another exception or warning."""
    rng = np.random.default_rng(20)
    smooth = np.asarray(Image.fromarray(four_colours).resize((64, 48), Image.Resampling.BICUBIC))
    originals = [encode(smooth, kind) for kind in ("JPEG", "PNG", "WEBP", "TIFF")]
    originals += [encode(smooth, "TIFF", compression="tiff_lzw")]
    originals += [encode(Image.fromarray(smooth).convert("CMYK"), "JPEG")]
    originals += [path.read_bytes() for path in sorted(FIXTURES.glob("*.heic"))]
    read = 0
    for original in originals:
        for _ in range(200):
            data = bytearray(original)
            reach = len(data) if rng.random() < 0.5 else min(200, len(data))
            for place in rng.integers(0, reach, rng.integers(1, 8)):
                data[place] = rng.integers(0, 256)
            if rng.random() < 0.2:
                del data[rng.integers(0, len(data)) :]
            try:
                photo = load(bytes(data), "damaged")
            except PhotoError as error:
                assert "\n" not in str(error) and "damaged" in str(error)
            else:
                read += 1
                assert photo.pixels.ndim == 3 and photo.pixels.shape[2] == 3
    assert read > 50  # damage in metadata or a few pixels does not lose the photo
