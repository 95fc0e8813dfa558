import csv
import io

import pretend
import pytest
from visiting import post, snap

from reader import catalogue as store
from reader.catalogue.columns import TOLD
from reader.records import Size


@pytest.fixture
def depot(client):
    """A fictional depot's bins: the catalogue behind the page."""
    catalogue = client.app.state.stock.catalogue
    for size, kind, bin in (
        (Size(507, 47), "tyre", "Rack A"),
        (Size(507, 37), "tyre", "Rack B"),
        (Size(622, 28), "tyre", "Rack A"),
        (Size(507, 21), "rim", "Rims"),
        (Size(590, 37), "tyre", "=cmd()"),
    ):
        store.add_part(catalogue, place=store.Place(bin), size=size, kind=kind)
    return client


def test_what_is_snapped_is_found_by_what_it_fits(client):
    address = snap(client, pretend.photo(pretend.RED))
    post(client, f"{address}/choose", size="47-507")
    done = post(client, f"{address}/store", bin="Rack A", quantity="2", condition="usable")
    assert "Added to" in done.text
    page = client.get("/bins?fits=507x21C&kind=rim").text
    assert "47-507" in page and "Rack A" in page and "2 pieces" in page and "older tables" in page


def test_the_same_photo_twice_is_one_part_and_one_file(client, tmp_path):
    """The second time is asked about; nothing that was typed is dropped in silence."""
    address = snap(client, pretend.photo(pretend.RED))
    assert "Added to" in post(client, f"{address}/store", bin="Rack A").text
    address = snap(client, pretend.photo(pretend.RED))
    asked = post(client, f"{address}/store", bin="Rack B", quantity="3", condition="usable")
    assert asked.status_code == 409 and "In the catalogue already" in asked.text
    assert "Rack B" in asked.text and "usable" in asked.text and 'value="3"' in asked.text
    where = asked.text.partition('action="')[2].partition('"')[0]
    part = asked.text.partition('name="part" value="')[2].partition('"')[0]
    assert "Added to" in post(client, where, part=part, quantity="3").text
    assert store.search(client.app.state.stock.catalogue)[0].quantity == 4
    assert len(list((tmp_path / "photos").iterdir())) == 1


def test_an_unsure_part_keeps_its_doubt_in_the_search(client):
    address = snap(client, pretend.photo(pretend.GREEN))
    post(client, f"{address}/store", bin="Rack A")
    page = client.get("/bins?fits=590x21C&kind=rim").text
    assert "if read rightly: only in older tables, 71 %" in page


@pytest.mark.parametrize(
    ("query", "found", "left_out"),
    [
        ("size=47-507", ["47-507"], ["37-507", "28-622"]),
        ("size=507", ["47-507", "37-507", "507x21"], ["28-622"]),
        ("bin=Rack A", ["47-507", "28-622"], ["37-507"]),
        ("kind=rim", ["507x21"], ["47-507"]),
        ("fits=47-507", ["507x21"], ["28-622", "37-507"]),
        ("fits=622x17C&kind=rim", ["28-622"], ["47-507"]),
    ],
)
def test_search(depot, query, found, left_out):
    page = depot.get(f"/bins?{query}").text.partition('class="parts"')[2]
    assert all(f">{size}<" in page for size in found)
    assert not any(f">{size}<" in page for size in left_out)


def test_a_name_of_two_sizes_is_asked_back(depot):
    page = depot.get("/bins?size=26 x 1 3/8").text
    assert "can mean more than one size" in page and 'value="37-597"' in page


def test_the_tally_counts(depot):
    page = depot.get("/tally?by=bsd").text
    assert "<svg" in page and "507 mm" in page
    rows = list(csv.reader(io.StringIO(depot.get("/tally.csv?by=bsd").text)))
    assert rows[0][:2] == ["bsd", "expected"]
    assert ["507 mm", "3", "3", "3", "3", "3"] in [row[:6] for row in rows]


def test_no_cell_of_the_csv_starts_a_formula(depot):
    text = depot.get("/tally.csv?by=bin").text
    names = [row[0] for row in csv.reader(io.StringIO(text))]
    assert "'=cmd()" in names
    assert not [name for name in names if name[:1] in "=+-@" and name]


def test_a_part_is_changed_and_remembers(depot):
    code = store.review_queue(depot.app.state.stock.catalogue)
    part = store_first(depot, 28)
    assert not code
    post(depot, f"/bins/{part.code}", bin="Rack C", shelf="2", quantity="3", note="patched")
    page = depot.get(f"/bins/{part.code}").text
    assert "Rack C" in page and "3 pieces" in page and "patched" in page
    assert "Rack A → Rack C" in page


def test_every_column_that_a_person_may_tell_stands_in_the_form(depot):
    part = store_first(depot, 28)
    page = depot.get(f"/bins/{part.code}").text
    assert all(f'name="{column.name}"' in page for column in TOLD)
    post(depot, f"/bins/{part.code}", bin="Rack A", quantity="1", made="2019-W23", threads="60")
    changed = store_first(depot, 28)
    assert (changed.made, changed.threads) == ("2019-W23", 60)
    page = depot.get(f"/bins/{part.code}").text
    assert 'value="2019-W23"' in page and 'value="60"' in page
    answer = post(depot, f"/bins/{part.code}", bin="Rack A", quantity="1", threads="many")
    assert answer.status_code == 422 and "Threads" in answer.text


def store_first(visitor, width):
    return store.search(visitor.app.state.stock.catalogue, width=(width, width))[0]


def test_review_settles_and_can_be_taken_back(client):
    address = snap(client, pretend.photo(pretend.GREEN))
    post(client, f"{address}/store", bin="Rack A")
    page = client.get("/review").text
    code = page.partition('action="/review/')[2].partition('"')[0]
    assert "37-590" in page and "37-597" in page
    assert client.get(f"/bins/{code}/strip").headers["content-type"] == "image/png"
    photo = client.get(f"/bins/{code}/photo/1")
    assert photo.headers["content-type"] == "image/jpeg" and photo.content[:2] == b"\xff\xd8"
    assert client.get(f"/bins/{code}/photo/2").status_code == 404
    settled = post(client, f"/review/{code}", rank="2").text
    assert "Nothing is waiting" in settled
    assert ">37-597<" in client.get(f"/bins/{code}").text
    assert "37-590" in post(client, f"/review/{code}", act="undo").text
    post(client, f"/review/{code}", size="37-590")
    assert "checked by a person" in client.get(f"/bins/{code}").text


def test_review_again_and_later(client):
    address = snap(client, pretend.photo(pretend.GREEN))
    post(client, f"{address}/store", bin="Rack A")
    code = client.get("/review").text.partition('action="/review/')[2].partition('"')[0]
    assert post(client, f"/review/{code}", act="skip").status_code == 200
    assert post(client, f"/review/{code}").status_code == 400
    assert "Nothing is waiting" in post(client, f"/review/{code}", act="again").text


@pytest.mark.parametrize("quantity", ["-1", "x", "1e9", "99999", "²"])
def test_nonsense_counts_are_refused(client, quantity):
    address = snap(client, pretend.photo(pretend.RED))
    answer = post(client, f"{address}/store", bin="A", quantity=quantity)
    assert answer.status_code == 422


def test_pairs_are_shown_with_what_stays_alone(depot):
    page = depot.get("/pairs").text
    wheels, _, rest = page.partition("Without a partner")
    assert ">507x21<" in wheels and ">37-507<" in wheels and ">Only in older tables<" in wheels
    assert ">28-622<" not in wheels and ">28-622<" in rest and ">47-507<" in rest
    assert "lower of the two limits" in wheels
    assert "No rim and tyre here go together" in depot.get("/pairs?bin=Rack A").text


def test_an_unsure_pair_keeps_its_doubt(depot):
    address = snap(depot, pretend.photo(pretend.GREEN))
    post(depot, f"{address}/store", bin="Rack A")
    stock, rims = depot.app.state.stock, store.Place("Rims")
    store.add_part(stock.catalogue, place=rims, size=Size(590, 21), kind="rim", quantity=2)
    wheels = depot.get("/pairs").text
    assert "if both are read rightly: only in older tables" in wheels and "Can&#39;t tell" in wheels


def test_a_part_gets_its_label(depot):
    """The PDF is read back with PDFium."""
    import pypdfium2

    part = store_first(depot, 47)
    answer = depot.get(f"/bins/{part.code}/label?sheet=70x37&skip=3")
    assert answer.headers["content-type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    assert len(document) == 1 and "47-507" in document[0].get_textpage().get_text_bounded()
    assert depot.get(f"/bins/{part.code}/label?sheet=70x37&skip=24").status_code == 422
    assert depot.get(f"/bins/{part.code}/label?sheet=../x").status_code == 422


def test_a_sure_diameter_with_an_open_width_is_no_fit(depot):
    shares = (store.Share("tyre", 507, 47.0, 0.5), store.Share("tyre", 507, 44.0, 0.49))
    found = store.Findings(
        "can't tell", "tyre", shares, "{}", bsd_verdict="sure", bsd_probability=0.995,
        width_verdict="can't tell",
    )  # fmt: skip
    catalogue = depot.app.state.stock.catalogue
    photo = store.PhotoRef("7" * 40, "/7", "7")
    part = store.add_part(catalogue, found, [photo], store.Place("Rack C"))
    page = depot.get("/bins?fits=507x21C&kind=rim&bin=Rack+C").text
    assert "?-507" in page and "diameter fits, width open: look closer" in page
    assert "diameter sure, width open" in depot.get("/bins?bin=Rack+C").text
    assert "diameter sure, width open" in depot.get(f"/bins/{part.code}").text
    (one,) = depot.get("/api/catalogue?fits=507x21C&kind=rim&bin=Rack+C").json()["fitting"]
    assert (one["grade"], one["width_open"]) == ("can't tell", True)
    assert "diameter sure, width open" in depot.get("/review").text
    for tyre in store.search(catalogue, bsd=507, kind="tyre"):
        store.change_part(catalogue, tyre.code, quantity=int(tyre.code == part.code))
    assert "Diameter fits, width open: look closer" in depot.get("/pairs").text
    assert depot.get("/fit?tyre=?-507&rim=507x21").status_code == 200


def test_rejects_are_offered_only_to_who_asks_for_them(depot):
    catalogue = depot.app.state.stock.catalogue
    for tyre in store.search(catalogue, bsd=507, kind="tyre"):
        store.change_part(catalogue, tyre.code, condition="reject")
    where = "/bins?fits=507x21C&kind=rim"
    assert "Nothing in the bins goes with it" in depot.get(where).text
    page = depot.get(f"{where}&any_condition=1").text
    assert "47-507" in page and 'name="any_condition" value="1" checked' in page


def test_pairs_leave_rejects_out_unless_they_are_asked_for(client, tmp_path):
    bins = store.open_catalogue(str(tmp_path / "catalogue.db"))
    store.add_part(bins, place=store.Place("A"), size=Size(622, 28), kind="tyre")
    bad = {"condition": "reject", "reasons": "dented"}
    store.add_part(bins, place=store.Place("A"), size=Size(622, 19), kind="rim", **bad)
    bins.close()
    assert "wheels" not in client.get("/pairs").text
    assert 'class="wheels"' in client.get("/pairs?any_condition=1").text
    assert client.get("/api/pairs").json()["count"] == 0
    assert client.get("/api/pairs?any_condition=true").json()["count"] == 1
