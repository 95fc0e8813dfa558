import pytest

from reader.errors import InputError
from reader.records import Size
from reader.web.sizing import likely, meant_by, typed_size


@pytest.mark.parametrize(
    ("text", "part", "size"),
    [
        ("37-590", "tyre", Size(590, 37)),
        ("700x28C", "tyre", Size(622, 28)),
        ("622x19C", "rim", Size(622, 19)),
        ("19-622", "rim", Size(622, 19)),
        ("650B", "tyre", Size(584)),
        ("?-622", "tyre", Size(622)),
        ("590", "tyre", Size(590)),
    ],
)
def test_what_is_clear_is_taken(text, part, size):
    assert typed_size(text, part).size == size


def test_a_rim_letter_is_kept():
    assert typed_size("622x25TSS", "rim").rim_kind == "TSS"


def test_a_name_of_two_sizes_is_not_decided_for_the_visitor():
    """26 x 1 3/8 is 590 (E.A.3) or 597 (S-6): S. Brown, Tire Sizing; community workshop tables."""
    assert {590, 597} <= {one.size.bsd for one in likely("26 x 1 3/8", "tyre")}
    with pytest.raises(InputError, match="can be"):
        typed_size("26 x 1 3/8", "tyre")


@pytest.mark.parametrize(
    "text", ["", "rubber", "9999", "0-0", "622-622", "47-508", "; DROP", "é" * 60]
)
def test_nonsense_is_refused_with_an_example(text):
    with pytest.raises(InputError) as caught:
        meant_by(text)
    assert "37-590" in caught.value.remedy
