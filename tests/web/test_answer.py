import pretend
from visiting import snap


def test_a_snapped_tyre_is_answered(client):
    page = client.get(snap(client, pretend.photo(pretend.RED))).text
    assert ">47-507<" in page
    assert "Sure" in page and "99 %" in page
    assert "24 x 1.85" in page
