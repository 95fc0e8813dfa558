import pretend
from visiting import post, snap, token_of

from reader import catalogue as store
from reader.records import Size


def test_a_snapped_tyre_is_answered(client):
    page = client.get(snap(client, pretend.photo(pretend.RED))).text
    assert "<bdi>507</bdi>" in page and "47 mm wide" in page and ">47-507<" in page
    assert "<strong>Sure</strong>" in page and "40-65 psi" in page and "one way" in page
    assert "24 x 1.85" in page
    assert "ISO pair read" in page and "lower of the pressures" in page


def test_a_tyre_on_its_rim_with_one_marking_asks_for_the_other(client):
    for colour, lacking in ((pretend.RED, "the rim&#39;s"), (pretend.GREY, "each one")):
        address = snap(client, pretend.photo(colour))
        page = client.get(address).text
        assert "marking was seen" not in page and f"{address}?wheel=1" in page
        page = client.get(f"{address}?wheel=1").text
        assert f"photograph {lacking}" in page and f"{address}?wheel=1" not in page


def test_an_unsure_answer_asks_and_shows_no_single_size(client):
    page = client.get(snap(client, pretend.photo(pretend.GREEN))).text
    assert "590 / 597" in page and "It is 37-590" in page and "It is 37-597" in page
    assert "Photograph the other side" in page
    assert "/wheel?" not in page and "/bins?fits" not in page and "wait until" in page
    assert page.count("?</p>") == 0  # one question, not two that contradict each other
    asked = page.partition('class="candidates"')[2].partition("</form>")[0]
    assert asked.count("Where the picture reads 26 x 1 3/8") == 2


def test_nothing_found_offers_help(client):
    page = client.get(snap(client, pretend.photo(pretend.GREY))).text
    assert "No size found" in page and "Help it read" in page and "Another picture" in page


def test_each_marking_stands_beside_its_picture(client):
    address = snap(client, pretend.photo(pretend.RED))
    page = client.get(address).text
    pictures = [piece.partition('"')[0] for piece in page.split('src="')[1:]]
    pictures = [path for path in pictures if "/picture/" in path]
    strips = {path for path in pictures if "/line-" in path}
    assert len(strips) == 2
    for path in pictures:
        answer = client.get(path)
        assert answer.status_code == 200 and answer.content[:2] == b"\xff\xd8"


def test_a_broken_photo_beside_a_good_one_is_named(client):
    good = pretend.photo(pretend.RED)
    page = client.get(snap(client, good, good[:300])).text
    assert ">47-507<" in page
    assert "Photo 2 is cut off or damaged" in page


def test_only_broken_photos(client):
    page = client.get(snap(client, pretend.photo(pretend.RED)[:300])).text
    assert "No photo could be opened" in page and "take it again" in page


def test_a_further_photo_is_read_together_with_the_first(client):
    address = snap(client, pretend.photo(pretend.RED))
    files = [("photo", ("b.jpg", pretend.photo(pretend.GREEN), "image/jpeg"))]
    client.post(f"{address}/more", data={"token": token_of(client)}, files=files)
    assert client.app.state.bench.latest(1)[0].reading.photos == ("photo 1", "photo 2")
    page = client.get(address).text
    assert page.count('class="frame"') == 2


def test_a_box_in_numbers_helps(client):
    address = snap(client, pretend.photo(pretend.GREY))
    box = {"photo": "1", "left": "10", "top": "50", "width": "80", "height": "30"}
    assert ">47-507<" in post(client, f"{address}/again", **box).text
    for wrong in ({"left": "x"}, {"left": "120"}, {"width": "0"}, {"width": ""}, {"photo": "9"}):
        assert post(client, f"{address}/again", **{**box, **wrong}).status_code in (400, 422)


def test_saying_what_it_is(client):
    address = snap(client, pretend.photo(pretend.RED), kind="rim")
    assert client.app.state.bench.latest(1)[0].kind == "rim"
    post(client, f"{address}/again", photo="1", kind="tyre")
    assert client.app.state.bench.latest(1)[0].kind == "tyre"


def test_a_word_stands_beside_the_reading(client):
    address = snap(client, pretend.photo(pretend.RED))
    page = post(client, f"{address}/choose", size="28-622").text
    assert ">28-622<" in page and "the machine read 47-507" in page
    assert ">47-507<" in post(client, f"{address}/choose", undo="1").text
    assert post(client, f"{address}/choose", size="rubber").status_code == 422


def test_the_edge_in_a_word_on_a_rim_is_kept(client):
    """The pretend rim reads as 507x21C; straight sides are another matter for a tyre."""
    address = snap(client, pretend.photo(pretend.BLUE), kind="rim")
    post(client, f"{address}/choose", size="507x21TSS")
    fit = client.get(f"/fit?rim_part={address.rpartition('/')[2]}&tyre=47-507").text
    assert "507x21TSS" in fit and "hookless" in fit
    post(client, f"{address}/store", bin="Rack A")
    stock = store.search(client.app.state.stock.catalogue, kind="rim")[0]
    assert (stock.size, stock.rim_kind) == (Size(507, 21), "TSS")
    post(client, f"/review/{stock.code}", size="507x21C")
    assert store.get_part(client.app.state.stock.catalogue, stock.code).rim_kind == "C"


def test_a_part_that_is_gone_is_told(client):
    answer = client.get("/part/nothing")
    assert answer.status_code == 404 and "Snap it again" in answer.text


def test_a_tyre_and_a_rim_snapped_one_after_the_other_are_paired(client):
    tyre = snap(client, pretend.photo(pretend.RED)).rpartition("/")[2]
    page = client.get(f"/fit?tyre_part={tyre}").text
    assert f'href="/?kind=rim&amp;pair={tyre}"' in page
    assert f'name="pair" value="{tyre}"' in client.get(f"/?kind=rim&pair={tyre}").text
    rim = snap(client, pretend.photo(pretend.BLUE), kind="rim", pair=tyre)
    way = f"/fit?rim_part={rim.rpartition('/')[2]}&amp;tyre_part={tyre}"
    assert way in client.get(rim).text
    fit = client.get(way.replace("&amp;", "&")).text
    assert "47-507" in fit and "507x21" in fit
    assert "Can&#39;t tell</strong>" in fit  # the rim's reading is likely, not sure
