import pretend
from conftest import token_of


def test_a_snapped_tyre_is_answered(client, snap):
    page = client.get(snap(pretend.photo(pretend.RED))).text
    assert ">47-507<" in page
    assert "Sure" in page and "99 %" in page
    assert "24 x 1.85" in page
