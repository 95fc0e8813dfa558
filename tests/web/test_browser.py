"""The page in a real browser, at phone and desktop size, light and dark.

Accessibility is checked by axe-core (vendor/, MPL-2.0) against WCAG 2.2 A and AA.
"""

from pathlib import Path

import pretend
import pytest

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text()
PHONE, DESK = {"width": 360, "height": 740}, {"width": 1280, "height": 860}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
LOOKS = [(PHONE, "light"), (PHONE, "dark"), (DESK, "light"), (DESK, "dark")]
NAMES = ["phone-light", "phone-dark", "desk-light", "desk-dark"]


@pytest.fixture
def open_page(chromium, live):
    """Opens pages on one server; fails if a page asks for anything from elsewhere or complains."""
    contexts, strays, complaints = [], [], []
    address = live()

    def start(viewport=PHONE, scheme="light", **chosen):
        context = chromium.new_context(
            viewport=viewport, color_scheme=scheme, base_url=address, **chosen
        )
        context.set_default_timeout(15_000)
        contexts.append(context)
        page = context.new_page()
        page.on(
            "request",
            lambda asked: (
                None
                if asked.url.startswith((address, "blob:", "data:"))
                else strays.append(asked.url)
            ),
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda said: complaints.append(said.text) if "Security" in said.text else None,
        )
        page.goto("/")
        return page

    yield start
    for context in contexts:
        context.close()
    assert not strays and not complaints


def snap(page, colour, text="47-507"):
    """Chooses a photo; the script sends it at once."""
    file = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(colour, text)}
    page.set_input_files("input[multiple] >> nth=0", [file])
    page.wait_for_url("**/part/*")
    page.wait_for_selector(".verdict, .caution")


def put_away(page, bin):
    """Adds the part that the page shows to a bin."""
    if not page.is_visible("#bin"):
        page.click("summary:has-text('Add to a bin')")
    page.fill("#bin", bin)
    page.click(".store button")
    page.wait_for_selector(".done")


def troubles(page):
    """What axe finds, short; in a window so high that nothing lies under the bar."""
    window = page.viewport_size
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": window["width"], "height": max(high, window["height"])})
    page.evaluate(AXE)
    found = page.evaluate("tags => axe.run(document, {runOnly: tags})", RULES)
    page.set_viewport_size(window)
    return [
        f"{one['id']}: {node['html'][:120]} {node.get('failureSummary', '')[:200]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def test_axe_would_tell(open_page):
    page = open_page()
    page.evaluate("document.querySelector('main').innerHTML += '<img src=\"/x\"><input>'")
    assert {text.partition(":")[0] for text in troubles(page)} >= {"image-alt", "label"}


@pytest.mark.parametrize(("viewport", "scheme"), LOOKS, ids=NAMES)
def test_every_screen_is_clean_for_axe(open_page, viewport, scheme):
    page = open_page(viewport, scheme)
    seen = {"start": troubles(page)}
    for colour in (pretend.GREEN, pretend.BLUE, pretend.GREY, pretend.RED):
        page.goto("/")
        snap(page, colour)
        for summary in page.query_selector_all("summary"):
            summary.click()
        seen[str(colour)] = troubles(page)
        if colour != pretend.GREY:
            put_away(page, "Rack A")
    page.click(".done a")
    seen["part"] = troubles(page)
    paths = (
        "/fit",
        "/fit?tyre=47-507&rim=507x21C",
        "/fit?tyre=47-507&rim=622x19",
        "/fit?tyre=26 x 1 3/8&rim=590x19",
        "/fit?rim=622x19C",
        "/wheel?tyre=47-507&instead=37-507",
        "/names",
        "/review",
        "/bins",
        "/bins?fits=507x21C&kind=rim",
        "/pairs",
        "/tally",
        "/programs",
        "/pair",
        "/let-in",
        "/nowhere",
    )
    for path in paths:
        page.goto(path)
        for summary in page.query_selector_all("summary"):
            summary.click()
        seen[path] = troubles(page)
    assert {where: what for where, what in seen.items() if what} == {}


@pytest.mark.parametrize(("viewport", "scheme"), [LOOKS[1], LOOKS[2]], ids=["phone", "desk"])
def test_from_the_snap_to_the_tally(open_page, viewport, scheme):
    page = open_page(viewport, scheme)
    snap(page, pretend.GREEN, "26 x 1 3/8")
    assert page.inner_text("h1.size") == "590 or 597"
    page.click("text=It is 37-597")
    assert page.inner_text("h1.size") == "37-597"
    assert "Your word" in page.inner_text(".verdict")
    page.click("summary:has-text('Add to a bin')")
    page.fill("#quantity", "3")
    put_away(page, "Rack A")
    page.click("nav >> text=Bins")
    page.fill("#fits", "597x21C")
    page.click("text=Search")
    found = page.inner_text(".parts")
    assert "37-597" in found and "older tables" in found
    page.goto("/tally")
    assert page.text_content(".bars .value") == "3"
    page.click("table >> text=37-597")
    page.click(".parts a")
    assert "26 x 1 3/8" not in page.inner_text("h1") and page.inner_text("h1") == "37-597"


def test_the_review_queue_is_worked_off(open_page):
    page = open_page()
    for text in ("26 x 1 3/8", "26x1-3/8"):
        page.goto("/")
        snap(page, pretend.GREEN, text)
        put_away(page, "Rack A")
    page.click("nav >> text=Review")
    page.click("text=It is 37-590")
    page.wait_for_selector("text=Noted for")
    page.fill("#own", "37-597")
    page.click("text=That is the size")
    page.wait_for_selector("text=Nothing is waiting")


def test_a_box_helps(open_page):
    page = open_page()
    snap(page, pretend.GREY)
    assert page.inner_text("h1") == "No size found"
    frame = page.locator(".frame")
    frame.scroll_into_view_if_needed()
    area = frame.bounding_box()
    page.mouse.move(area["x"] + area["width"] * 0.1, area["y"] + area["height"] * 0.5)
    page.mouse.down()
    page.mouse.move(area["x"] + area["width"] * 0.9, area["y"] + area["height"] * 0.8, steps=4)
    page.mouse.up()
    page.click("text=Box in numbers")
    assert page.input_value("[name=left]") == pytest.approx("10.0")
    page.click("text=Read the box")
    page.wait_for_selector("h1.size")
    assert page.inner_text("h1.size") == "47-507"


def test_a_turned_photo_stays_turned(open_page):
    page = open_page()
    snap(page, pretend.GREEN)
    before = page.locator(".frame img").get_attribute("width")
    page.click("text=Turn right")
    page.wait_for_function(
        f"document.querySelector('.frame img')?.width && "
        f"document.querySelector('.frame img').getAttribute('width') != {before}"
    )
    assert page.locator(".frame img").get_attribute("height") == before


def test_without_scripts_the_job_can_be_done(open_page):
    page = open_page(java_script_enabled=False)
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.GREEN)}
    page.set_input_files("input[multiple]", [file])
    page.click("text=Read it")
    assert "590" in page.inner_text("h1.size")
    page.click("text=It is 37-597")
    assert page.inner_text("h1.size") == "37-597"
    page.click("summary:has-text('Add to a bin')")
    page.fill("#bin", "Rack B")
    page.click(".store button")
    assert "In the catalogue" in page.inner_text(".done")


def test_two_phones_at_once_keep_apart(open_page):
    one, other = open_page(), open_page()
    for page, colour in ((one, pretend.SLOW), (other, pretend.GREEN)):
        file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(colour)}
        page.set_input_files("input[multiple]", [file])
    for page in (one, other):
        page.wait_for_url("**/part/*")
    assert "590" in other.inner_text("h1.size")
    assert one.inner_text("h1") == "No size found"


def test_an_ambiguous_word_is_asked_back(open_page):
    page = open_page()
    snap(page, pretend.RED)
    page.click("text=It is another size")
    page.fill("#own", "26 x 1 3/8")
    page.click("text=That is the size")
    page.click("button:has-text('37-597')")
    assert page.inner_text("h1.size") == "37-597"
    page.click("text=Take it back")
    assert page.inner_text("h1.size") == "47-507"


def test_a_phone_pairs_by_its_camera_or_by_typing(chromium, live):
    address = live(pairing=True)
    for scanned in (True, False):
        context = chromium.new_context(viewport=PHONE)
        page = context.new_page()
        page.goto(f"{address}/fit")
        assert page.url.endswith("/pair")
        if scanned:
            page.goto(f"{address}/pair/GREASY7NUT")
        else:
            page.fill("#code", "greasy 7nut")
            page.click("button:has-text('Pair')")
        page.wait_for_selector("text=Take a photo")
        assert "GREASY" not in page.url
        snap(page, pretend.RED)
        assert page.inner_text("h1.size") == "47-507"
        assert page.evaluate("document.cookie") == ""
        context.close()


def test_the_network_gone_is_told(open_page):
    page = open_page()
    page.route("**/snap", lambda route: route.abort())
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.RED)}
    page.set_input_files("input[multiple]", [file])
    page.wait_for_selector("[data-trouble]:not([hidden])")
    assert "can't be reached" in page.inner_text("[data-trouble]")


def test_the_first_page_is_light(open_page):
    """All of it, unpacked: at most 150 kB."""
    page = open_page()
    sizes = []
    page.on("response", lambda answer: sizes.append(len(answer.body())))
    page.goto("/")
    page.wait_for_load_state("networkidle")
    assert len(sizes) >= 3 and sum(sizes) <= 150_000


def test_rims_and_tyres_become_wheels_with_labels(open_page):
    page = open_page()
    for colour in (pretend.RED, pretend.BLUE):
        page.goto("/")
        snap(page, colour)
        page.click("summary:has-text('It is another size')")
        page.fill("#own", "47-507" if colour == pretend.RED else "507x21C")
        page.click("text=That is the size")
        put_away(page, "Rack A")
    page.click("nav >> text=Bins")
    page.click("text=Pairs")
    shown = page.inner_text(".wheels")
    assert "Good" in shown and "507x21" in shown and "47-507" in shown
    page.click(".wheels a >> nth=0")
    with page.expect_download() as label:
        page.click("text=Label as PDF")
    assert label.value.suggested_filename.endswith(".pdf")


@pytest.mark.parametrize(
    "path", ["/", "/fit", "/names", "/review", "/bins", "/pairs", "/tally", "/programs"]
)
def test_a_narrow_phone_never_scrolls_sideways_and_targets_are_large(open_page, path):
    page = open_page(viewport={"width": 320, "height": 640})
    page.goto(path)
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 320
    small = page.evaluate(
        """[...document.querySelectorAll('button, .button, input:not([type=hidden]), select, '
             + 'summary, nav a')]
            .filter(one => one.offsetParent && !one.closest('.choice') && one.type !== 'file')
            .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
            .filter(([, box]) => box.height < 48 || box.width < 48).map(([text]) => text)"""
    )
    assert small == []


def test_the_keyboard_reaches_everything(open_page):
    page = open_page(DESK)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.name") == "kind"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "file"
    ring = page.evaluate("getComputedStyle(document.activeElement.closest('.button')).outlineStyle")
    assert ring == "solid"
