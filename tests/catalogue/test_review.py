import csv
import json

import pytest
import sqlalchemy as sa
from PIL import Image

from reader.catalogue import (
    Findings,
    PhotoRef,
    Share,
    accept,
    add_part,
    change_part,
    correct,
    export_training,
    get_part,
    history,
    photograph_again,
    reopen,
    review_item,
    review_queue,
    skip,
    waiting,
)
from reader.catalogue.db import schema
from reader.catalogue.db.records import Arrival
from reader.catalogue.intake.insert import record
from reader.errors import InputError
from reader.records import Size


def findings(*shares, verdict="likely", strip=b"png") -> Findings:
    made = tuple(Share("tyre", bsd, width, p) for width, bsd, p in shares)
    document = json.dumps({"verdict": verdict, "markings": []})
    return Findings(verdict, "tyre", made, document, strip)


def photo(name: str) -> PhotoRef:
    return PhotoRef(f"{name:0>40}", f"/photos/{name}.jpg", f"{name}.jpg")


EVEN = ((37, 590, 0.5), (32, 597, 0.5))
FAIR = ((37, 590, 0.8), (32, 597, 0.2))
CLEAR = ((37, 590, 0.999), (32, 597, 0.001))


def test_what_settles_most_comes_first(catalogue) -> None:
    clear = add_part(catalogue, findings(*CLEAR, verdict="sure"), [photo("1")])
    fair = add_part(catalogue, findings(*FAIR), [photo("2")])
    even = add_part(catalogue, findings(*EVEN), [photo("3")])
    many = add_part(catalogue, findings(*FAIR), [photo("4")], quantity=10)
    slow = add_part(catalogue, findings(*EVEN, strip=None), [photo("5")])
    order = [item.part.code for item in review_queue(catalogue)]
    assert order[0] == many.code, "ten pieces weigh more than one"
    assert order.index(even.code) < order.index(fair.code), "more doubt, more to settle"
    assert order.index(even.code) < order.index(slow.code), "a strip is quicker to judge"
    assert clear.code not in order, "one that is all but certain is not worth a look"
    assert waiting(catalogue)["queue"] == len(order)


def test_accepted_part_is_settled_and_the_reading_stays(catalogue) -> None:
    part = add_part(catalogue, findings(*FAIR), [photo("1")])
    settled = accept(catalogue, part.code, rank=2, person="Kim")
    assert (settled.size, settled.probability, settled.state) == (Size(597, 32), 1.0, "accepted")
    assert review_queue(catalogue) == []
    with catalogue.read() as connection:
        kept = connection.scalar(sa.select(schema.readings.c.shares))
        said = connection.execute(sa.select(schema.corrections)).mappings().one()
    assert json.loads(kept)[0] == ["tyre", 590, 37, 0.8]
    assert (said["person"], said["bsd"], said["reading"]) == ("Kim", 597, 1)


def test_correction_can_be_taken_back(catalogue) -> None:
    part = add_part(catalogue, findings(*FAIR), [photo("1")])
    correct(catalogue, part.code, Size(635, 40), text="40-635")
    back = reopen(catalogue, part.code)
    assert (back.size, back.probability, back.state) == (Size(590, 37), 0.8, "open")
    assert [share.probability for share in review_item(catalogue, part.code).shares] == [0.8, 0.2]
    told = [entry["what"] for entry in history(catalogue, part.code)]
    assert told == ["came in", "read", "corrected", "reopened"]


def test_skipped_sinks_and_photograph_again_leaves(catalogue) -> None:
    one = add_part(catalogue, findings(*EVEN), [photo("1")])
    two = add_part(catalogue, findings(*FAIR), [photo("2")])
    assert review_queue(catalogue)[0].part.code == one.code
    skip(catalogue, one.code)
    assert review_queue(catalogue)[0].part.code == two.code
    photograph_again(catalogue, two.code)
    assert [item.part.code for item in review_queue(catalogue)] == [one.code]


def test_new_photo_brings_a_part_back_from_photograph_again(catalogue) -> None:
    part = add_part(catalogue, findings(*EVEN), [photo("1")])
    photograph_again(catalogue, part.code)
    record(catalogue, Arrival((photo("1"), photo("2")), findings(*FAIR)))
    assert get_part(catalogue, part.code).state == "open"


def test_persons_word_stays_against_a_later_reading(catalogue) -> None:
    part = add_part(catalogue, findings(*EVEN), [photo("1")])
    correct(catalogue, part.code, Size(597, 32))
    record(catalogue, Arrival((photo("1"), photo("2")), findings(*CLEAR, verdict="sure")))
    doubted = get_part(catalogue, part.code)
    assert (doubted.size, doubted.state) == (Size(597, 32), "doubted")
    assert "37-590" in history(catalogue, part.code)[-1]["detail"]


def test_gone_parts_are_not_asked_about(catalogue) -> None:
    part = add_part(catalogue, findings(*EVEN), [photo("1")])
    change_part(catalogue, part.code, quantity=0)
    assert review_queue(catalogue) == []


@pytest.mark.parametrize("size", [Size(26, 1.75), Size(622, 622), Size(9999, 20), Size(0, 0)])
def test_nonsense_is_refused(file_catalogue, size) -> None:
    part = add_part(file_catalogue, findings(*EVEN), [photo("1")])
    with pytest.raises(InputError, match="give millimetres"):
        correct(file_catalogue, part.code, size)
    assert get_part(file_catalogue, part.code).state == "open"


def test_unknown_part_and_candidate(file_catalogue) -> None:
    part = add_part(file_catalogue, findings(*EVEN), [photo("1")])
    with pytest.raises(InputError, match="no candidate 3"):
        accept(file_catalogue, part.code, 3)
    with pytest.raises(InputError, match="no part"):
        skip(file_catalogue, "00000-00000")


def test_corrections_become_training_material(file_catalogue, tmp_path) -> None:
    strip = tmp_path / "strip.png"
    Image.new("L", (40, 12), 90).save(strip)
    part = add_part(file_catalogue, findings(*EVEN, strip=strip.read_bytes()), [photo("1")])
    other = add_part(file_catalogue, findings(*EVEN, strip=strip.read_bytes()), [photo("2")])
    add_part(file_catalogue, findings(*EVEN), [photo("3")])
    correct(file_catalogue, part.code, Size(597, 32), text="wrong")
    correct(file_catalogue, part.code, Size(590, 37), text="37-590 26x1 3/8")
    accept(file_catalogue, other.code)
    assert export_training(file_catalogue, tmp_path / "lines") == 2
    with (tmp_path / "lines" / "lines.csv").open(newline="") as file:
        rows = {row["file"]: row for row in csv.DictReader(file)}
    assert rows[f"{part.code}.png"] == {
        "file": f"{part.code}.png",
        "text": "37-590 26x1 3/8",
        "size": "37-590",
        "kind": "tyre",
    }
    assert Image.open(tmp_path / "lines" / f"{part.code}.png").size == (40, 12)
