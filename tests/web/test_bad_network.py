"""A slow network that loses much, a phone that sleeps in the middle, three visitors at once."""

import pretend
import pytest

PHONE = {"width": 360, "height": 640}
SLOW = {  # 3G as browsers' own tools name it: 400 ms, 400 kbit/s either way (common practice)
    "offline": False,
    "latency": 400,
    "downloadThroughput": 50_000,
    "uploadThroughput": 50_000,
}


@pytest.fixture
def visitor(chromium, live):
    address, made = live(), []

    def enter(viewport=PHONE):
        context = chromium.new_context(viewport=viewport, base_url=address)
        made.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.goto("/")
        return page

    yield enter
    for context in made:
        context.close()


def choose(page, colour, text="47-507"):
    photo = pretend.photo(colour, text)
    file = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo}
    page.set_input_files("input[multiple]", [file])


def test_a_slow_network_that_loses_pieces_loses_no_picture(visitor):
    page = visitor()
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    network.send("Network.emulateNetworkConditions", SLOW)
    lost = []

    def drop(route):
        if len(lost) < 4:
            lost.append(route.request.url)
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route("**/outbox/**", drop)
    choose(page, pretend.RED)
    page.wait_for_selector("h1.size")
    assert len(lost) == 4 and "507" in page.inner_text("h1.size")


def test_a_phone_that_sleeps_in_the_middle_finds_its_answer(visitor):
    page = visitor()
    sleep = page.context.new_cdp_session(page)
    choose(page, pretend.SLOW)
    page.wait_for_selector("#work[open]")
    sleep.send("Page.setWebLifecycleState", {"state": "frozen"})
    sleep.send("Page.setWebLifecycleState", {"state": "active"})
    page.wait_for_selector("h1.size, h1.untold")


def test_two_phones_and_a_desktop_at_once(visitor):
    pages = [visitor(), visitor(), visitor({"width": 1280, "height": 800})]
    colours = (pretend.RED, pretend.BLUE, pretend.RED)
    for number, (page, colour) in enumerate(zip(pages, colours, strict=True)):
        choose(page, colour, f"part {number}")
    for page in pages:
        page.wait_for_selector("h1.size")
        assert "507" in page.inner_text("h1.size")
    assert len({page.url for page in pages}) == 3
