"""Pictures of the screens. TYREMARK_SCREENS=samples/screens keeps those that README shows."""

import os
from pathlib import Path

import pytest
from sidewall import sidewall

from reader import catalogue as store
from reader.records import Size

PHONE = {"width": 390, "height": 844}
STOCK = (
    (Size(622, 28), "tyre", "Rack A", 7),
    (Size(622, 37), "tyre", "Rack A", 4),
    (Size(559, 47), "tyre", "Rack B", 9),
    (Size(507, 47), "tyre", "Rack B", 5),
    (Size(507, 50), "tyre", "Rack C", 2),
    (Size(584, 57), "tyre", "Rack C", 1),
    (Size(507, 21), "rim", "Hooks", 2),
    (Size(622, 19), "rim", "Hooks", 6),
)


@pytest.fixture
def folder(tmp_path):
    chosen = Path(os.environ.get("TYREMARK_SCREENS", tmp_path / "screens"))
    chosen.mkdir(parents=True, exist_ok=True)
    return chosen


@pytest.mark.parametrize(("scheme", "ending"), [("light", ""), ("dark", "-dark")])
def test_screens(chromium, live, tmp_path, folder, scheme, ending):
    address = live()
    bins = store.open_catalogue(tmp_path / "catalogue.db")
    for size, kind, bin, quantity in STOCK:
        store.add_part(bins, place=store.Place(bin), size=size, kind=kind, quantity=quantity)
    bins.close()
    context = chromium.new_context(
        viewport=PHONE, color_scheme=scheme, base_url=address, device_scale_factor=1
    )
    page = context.new_page()

    def keep(name):
        page.screenshot(path=folder / f"{name}{ending}.png")

    for name, text, kind in (
        ("unsure", "26 x 1 3/8", "torn"),
        ("answer", "47-507 24x1.75", "sure"),
    ):
        page.goto("/")
        photo = sidewall(text, kind)
        page.set_input_files(
            "input[multiple]", [{"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo}]
        )
        page.wait_for_selector("h1.size")
        page.wait_for_load_state("networkidle")
        keep(name)
    page.click(".bar >> text=Bin")
    page.wait_for_selector("text=Into which bin")
    keep("bin")
    for name, path in (
        ("snap", "/"),
        ("fit", "/fit?tyre=47-507&rim=507x25C"),
        ("bins", "/bins?fits=507x21C"),
        ("tally", "/tally"),
        ("names", "/names?find=26"),
    ):
        page.goto(path)
        if name == "fit":
            page.locator(".drawing").first.scroll_into_view_if_needed()
        if name == "bins":
            page.locator(".parts").scroll_into_view_if_needed()
        keep(name)
    context.close()
    pictures = list(folder.glob(f"*{ending}.png"))
    assert len(pictures) >= 7 and all(one.stat().st_size > 8000 for one in pictures)
