"""The slip and the room in a frame on the page and in the API."""

import pypdfium2
import pytest

from reader import catalogue as store
from reader.records import Size


@pytest.fixture
def depot(client):
    """A visitor on a server with three tyres in its bins."""
    stock = client.app.state.stock
    for width in (28, 35, 47):
        place = store.Place(f"Rack {width}")
        store.add_part(stock.catalogue, place=place, size=Size(622, width), kind="tyre")
    return client


def test_a_slip_to_show_and_to_print(depot):
    page = depot.get("/slip?of=622x25C").text
    assert "Never, though it sounds alike" in page and "Rack 47" in page and "Rack 28" not in page
    assert "/slip.pdf?of=622x25C" in page
    printed = depot.get("/slip.pdf?of=622x25C")
    assert printed.headers["content-type"] == "application/pdf"
    assert len(pypdfium2.PdfDocument(printed.content)) == 1
    pair = depot.get("/slip?of=28-622&with=622x25TSS").text
    assert "No table in hand allows it" in pair
    assert depot.get("/slip").status_code == 200


def test_the_largest_tyre_with_what_lies_in_the_bins(depot):
    page = depot.get("/clearance?wheel=622x19C&fork=50&stay=48").text
    assert "Up to 35-622" in page and "Rack 35" in page and "Rack 47" not in page
    bare = depot.get("/clearance?wheel=622&stay=48,5 mm").text
    assert "Give the rim" in bare and "height was not given" in bare
    none = depot.get("/clearance?wheel=622x19C&stay=20").text
    assert "No tyre surely keeps the gap" in none
    assert depot.get("/clearance").status_code == 200


@pytest.mark.parametrize(
    "address",
    ["/slip?of=rubber", "/clearance?wheel=622x19C", "/clearance?wheel=622x19C&fork=wide",
     "/clearance?wheel=622x19C&fork=4", "/clearance?wheel=26 x 1 3/8&fork=40"],
)  # fmt: skip
def test_nonsense_is_answered_with_what_to_do(depot, address):
    answer = depot.get(address)
    assert answer.status_code == 422 and 'role="alert"' in answer.text


def test_nothing_to_print_is_refused(depot):
    assert depot.get("/slip.pdf").status_code == 422


def test_the_same_for_programs(depot):
    (slip,) = depot.get("/api/slip", params={"of": "622x25C"}).json()
    assert slip["title"] == "622x25C" and len(slip["bins"]) == 1
    assert {"Sold as", "Mind"} <= {one["head"] for one in slip["sections"]}
    room = depot.get("/api/clearance", params={"wheel": "622x19C", "stay": 48}).json()
    assert (room["surely"], room["perhaps"], len(room["bins"])) == ("35-622", "38-622", 2)
    assert depot.get("/api/clearance", params={"wheel": "622x19C"}).status_code == 422
