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
CLEAR_BOX = """for (const name of ['left', 'top', 'width', 'height']) {
    const field = document.querySelector(`[name=${name}]`);
    field.value = '';
    field.dispatchEvent(new Event('input'));
}"""
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
    page.wait_for_load_state()


def put_away(page, bin):
    """Adds the part that the page shows to a bin."""
    page.click(".bar >> text=Bin")
    chip = page.locator(f"button[name=bin][value='{bin}']")
    if chip.count():
        chip.first.click()
    else:
        if not page.is_visible("#bin"):
            page.click("summary:has-text('Another bin')")
        page.fill("#bin", bin)
        page.click("button:has-text('Add')")
    page.wait_for_selector("[data-stored]:visible")


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
        "/slip?of=507x21C",
        "/clearance?wheel=507x21C&fork=60&stay=56",
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
    assert page.inner_text("h1.size").split() == ["590", "/", "597", "mm"]
    page.click("text=It is 37-597")
    assert page.inner_text("h1.size").split() == ["597", "mm"]
    assert "Your word" in page.inner_text(".verdict")
    put_away(page, "Rack A")
    for _ in range(2):
        page.click("text=+1")
    page.wait_for_selector("text=3 pieces")
    page.click("nav >> text=Bins")
    page.fill("#fits", "597x21C")
    page.click("text=Search")
    found = page.inner_text(".parts")
    assert "37-597" in found and "older tables" in found
    page.goto("/tally?by=size")
    assert page.locator("td.number").first.inner_text() == "3"
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
    page.click("text=Draw a box")
    frame = page.locator(".frame")
    frame.scroll_into_view_if_needed()
    page.evaluate(CLEAR_BOX)
    area = frame.bounding_box()
    page.mouse.move(area["x"] + area["width"] * 0.1, area["y"] + area["height"] * 0.5)
    page.mouse.down()
    page.mouse.move(area["x"] + area["width"] * 0.9, area["y"] + area["height"] * 0.8, steps=4)
    page.mouse.up()
    page.click("text=Box in numbers")
    assert page.input_value("[name=left]") == pytest.approx("10.0")
    page.click("text=Read the box")
    page.wait_for_selector("h1.size")
    assert page.inner_text(".plainly .iso") == "47-507"


def test_a_turned_photo_stays_turned(open_page):
    page = open_page()
    snap(page, pretend.GREEN)
    before = page.locator(".frame img").get_attribute("width")
    page.click("text=Turn right")
    page.wait_for_function(
        f"() => document.querySelector('.frame img')?.width && "
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
    assert page.inner_text(".plainly .iso") == "37-597"
    page.click(".bar >> text=Bin")
    page.fill("#bin", "Rack B")
    page.click("button:has-text('Add')")
    assert "Added to Rack B" in page.inner_text(".done")


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
    assert page.inner_text(".plainly .iso") == "37-597"
    page.click("text=Take it back")
    assert page.inner_text(".plainly .iso") == "47-507"


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
        page.wait_for_selector("text=Choose pictures")
        assert "GREASY" not in page.url
        snap(page, pretend.RED)
        assert page.inner_text(".plainly .iso") == "47-507"
        assert page.evaluate("document.cookie") == ""
        context.close()


def test_a_picture_waits_for_the_network_and_is_sent_by_itself(open_page):
    page = open_page()
    page.route("**/outbox/**", lambda route: route.abort())
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.RED)}
    page.set_input_files("input[multiple]", [file])
    page.wait_for_selector("#work [data-trouble]:not([hidden])")
    assert "will be sent by itself" in page.inner_text("#work [data-trouble]")
    page.click("#work >> text=Go on")
    page.reload()
    page.wait_for_selector("#outbox li")
    page.unroute("**/outbox/**")
    page.click("#outbox >> text=Send now")
    page.wait_for_selector("#outbox", state="hidden")
    page.reload()
    page.wait_for_selector(".row-size:has-text('47-507')")


def test_stop_keeps_the_picture_until_it_is_thrown_away(open_page):
    page = open_page()
    page.route("**/outbox/**", lambda route: None)  # never answered
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.RED)}
    page.set_input_files("input[multiple]", [file])
    page.click("#work >> text=Stop")
    page.wait_for_selector("#outbox li:has-text('Stopped')")
    page.click("#outbox >> text=Throw away")
    page.wait_for_selector("#outbox", state="hidden")


@pytest.mark.parametrize("height", [480, 640, 900])
def test_work_fills_the_screen(open_page, height):
    page = open_page(viewport={"width": 360, "height": height})
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.SLOW)}
    page.set_input_files("input[multiple]", [file])
    page.wait_for_selector("#work[open] progress")
    for part in ("#work img", "#work progress", "#work [data-stop]"):
        box = page.locator(part).bounding_box()
        assert box and box["y"] >= 0 and box["y"] + box["height"] <= height, part


def test_the_answer_stands_on_one_screen(open_page):
    page = open_page(viewport={"width": 360, "height": 640})
    snap(page, pretend.RED)
    page.wait_for_function("() => document.querySelector('.proof').complete")
    seen = ["h1.size", ".plainly", ".verdict", ".proof"]
    bar = page.locator(".bar").bounding_box()
    for part in seen:
        box = page.locator(part).first.bounding_box()
        assert box["y"] >= 0 and box["y"] + box["height"] <= bar["y"], part
    assert bar["y"] + bar["height"] <= 640
    words = [one.inner_text() for one in page.locator(".bar span").all() if one.is_visible()]
    assert words == ["Fits?", "Bin", "Again"]


def test_two_shots_one_verdict(open_page):
    page = open_page()
    page.click("text=Tyre, then rim")
    for colour in (pretend.RED, pretend.BLUE):
        file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(colour)}
        page.set_input_files("input[multiple]", [file])
        page.wait_for_url("**/*pair=*" if colour == pretend.RED else "**/fit?*")
    page.wait_for_selector(".grade")
    assert "Can't tell" in page.inner_text(".grade")  # the rim is only likely
    assert "47-507" in page.inner_text(".grade") and "507x21" in page.inner_text(".grade")


def test_into_the_bin_in_two_taps_and_back(open_page):
    page = open_page()
    snap(page, pretend.RED)
    put_away(page, "Rack A")
    page.goto("/")
    snap(page, pretend.GREEN)
    page.click("text=It is 37-590")
    page.click(".bar >> text=Bin")
    page.click("button.main:has-text('Rack A')")
    assert "Added to Rack A" in page.inner_text(".done")
    page.click("text=Undo")
    page.wait_for_selector(".done", state="detached")


def test_the_page_opens_without_the_server(chromium, live):
    context = chromium.new_context(viewport=PHONE, base_url=live())
    page = context.new_page()
    page.goto("/")
    page.wait_for_function("() => !!navigator.serviceWorker.controller")  # all is kept by then
    context.set_offline(True)
    page.goto("/fit")
    assert "The server is away" in page.inner_text("h1")
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": pretend.photo(pretend.RED)}
    page.set_input_files("input[multiple]", [file])
    page.wait_for_selector("#outbox li", state="attached")
    context.set_offline(False)
    page.goto("/")
    page.wait_for_selector("#outbox", state="hidden")
    page.reload()
    page.wait_for_selector(".row-size:has-text('47-507')")
    context.close()


def test_the_first_page_is_light(open_page):
    """All of it, as it comes: at most 60 kB."""
    page = open_page()
    sizes = []
    page.on("response", lambda answer: sizes.append(answer.request.sizes()["responseBodySize"]))
    page.goto("/")
    page.wait_for_load_state("networkidle")
    assert len(sizes) >= 3 and sum(sizes) <= 60_000


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
    assert "Only in older tables" in shown and "507x21" in shown and "47-507" in shown
    page.click(".wheels .row >> nth=0")
    page.eval_on_selector("form[target]", "form => form.removeAttribute('target')")
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


@pytest.mark.parametrize("language", ["en", "de", "fr", "es", "nl"])
@pytest.mark.parametrize("size", [(320, 640), (360, 640), (640, 360)], ids=str)
def test_nothing_is_clipped_in_any_language_or_at_twice_the_text(open_page, language, size):
    page = open_page({"width": size[0], "height": size[1]}, locale=language)
    snap(page, pretend.RED)
    for path in (page.url, "/", "/fit", "/bins"):
        page.goto(path)
        for text in ("112.5%", "225%"):
            page.evaluate("text => { document.documentElement.style.fontSize = text; }", text)
            wide = page.evaluate("() => document.documentElement.scrollWidth")
            assert wide <= size[0], (path, text, wide)


def test_the_keyboard_reaches_everything(open_page):
    page = open_page(DESK)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.type") == "file"
    ring = page.evaluate("getComputedStyle(document.activeElement.closest('.button')).outlineStyle")
    assert ring == "solid"


def test_taps_and_screens_from_the_picture_to_the_bin(open_page):
    """At most one tap beyond the camera's own for the answer, two for a fit, two for the bin."""
    page = open_page(viewport={"width": 360, "height": 640})
    page.evaluate("() => sessionStorage.setItem('taps', '0')")
    count = (
        "addEventListener('click', e => { if (e.isTrusted && e.target.closest('a, button, label')) "
    )
    count += "sessionStorage.setItem('taps', +sessionStorage.getItem('taps') + 1); }, true)"
    page.context.add_init_script(count)

    def taps():
        return int(page.evaluate("() => sessionStorage.getItem('taps')"))

    snap(page, pretend.RED)
    put_away(page, "Rack A")  # so that a bin is known
    page.goto("/")
    page.evaluate("() => sessionStorage.setItem('taps', '0')")
    with page.expect_file_chooser() as chooser:
        page.locator("label:has(input[multiple])").first.click()
    file = {
        "name": "a.jpg",
        "mimeType": "image/jpeg",
        "buffer": pretend.photo(pretend.RED, "again"),
    }
    chooser.value.set_files([file])
    page.wait_for_selector("h1.size")
    assert taps() <= 1
    page.evaluate("() => sessionStorage.setItem('taps', '0')")
    page.click(".bar >> text=Fits?")
    page.wait_for_url("**/fit?*")
    assert taps() <= 2
    page.go_back()
    page.evaluate("() => sessionStorage.setItem('taps', '0')")
    page.click(".bar >> text=Bin")
    page.wait_for_selector("button.main:has-text('Rack A')")
    page.click("button.main:has-text('Rack A')")
    page.wait_for_selector(".done")
    assert taps() <= 2
