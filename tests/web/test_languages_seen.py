"""Every screen in five languages on a small phone, laid out on one sheet a language to look at.

TYREMARK_SCREENS=samples/screens keeps the sheets there (all-de.webp and so on).
"""

import os
from pathlib import Path

import pretend
import pytest
from PIL import Image
from test_screens import STOCK

from reader import catalogue as store

PHONE, TILE = {"width": 360, "height": 640}, (270, 480)
PATHS = (
    "/", "/fit", "/fit?tyre=47-507&rim=507x25C", "/fit?tyre=28-622&rim=622x25C", "/bins",
    "/bins?fits=507x21C", "/pairs", "/tally", "/review", "/names?find=26", "/wheel?tyre=28-622",
    "/slip?of=622x19C", "/clearance?of=622x19C&fork=46", "/labels", "/live", "/nowhere",
)  # fmt: skip


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "nl"])
def test_every_screen_in_the_language(chromium, live, tmp_path, language):
    address = live()
    bins = store.open_catalogue(tmp_path / "catalogue.db")
    for size, kind, bin, quantity in STOCK:
        store.add_part(bins, place=store.Place(bin), size=size, kind=kind, quantity=quantity)
    bins.close()
    context = chromium.new_context(viewport=PHONE, locale=language, base_url=address)
    page, tiles = context.new_page(), []

    def keep():
        wide = page.evaluate("() => document.documentElement.scrollWidth")
        assert wide <= PHONE["width"], page.url
        assert page.evaluate("() => document.documentElement.lang") == language
        path = tmp_path / "one.png"
        page.screenshot(path=path)
        tiles.append(Image.open(path).convert("RGB").resize(TILE))

    for colour in (pretend.RED, pretend.GREEN, pretend.GREY):
        page.goto("/")
        file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(colour)}
        page.set_input_files("input[multiple]", [file])
        page.wait_for_url("**/part/*")
        page.wait_for_selector("h1.size, h1.untold")
        keep()
    for path in PATHS:
        page.goto(path)
        keep()
    context.close()
    columns = 5
    rows = -(-len(tiles) // columns)
    sheet = Image.new("RGB", (columns * TILE[0], rows * TILE[1]), "white")
    for number, tile in enumerate(tiles):
        sheet.paste(tile, (number % columns * TILE[0], number // columns * TILE[1]))
    folder = Path(os.environ.get("TYREMARK_SCREENS", tmp_path))
    sheet.save(folder / f"all-{language}.webp", quality=30, method=6)
    assert (folder / f"all-{language}.webp").stat().st_size <= 150_000
