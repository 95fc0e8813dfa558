"""One photo of a tyre on its rim: both markings, one, none, and one part in two notations."""

from seen import line, marking

from reader.mounted import as_dict, mounted
from reader.records import Reading, Verdict


def wheel(*seen):
    return Reading((), Verdict.NONE, markings=tuple(seen))


def pair(width, bsd, y=0.0, cost=0.0):
    numbers = {"width_mm": width, "bsd_mm": bsd}
    return marking(line(f"{width}-{bsd}", y=y), "iso_pair", numbers, cost)


def rim(bsd, width, y=300.0):
    numbers = {"bsd_mm": bsd, "width_mm": width, "kind": "C", "order": "bsd"}
    return marking(line(f"{bsd}x{width}C", y=y), "rim", numbers)


def test_tyre_and_rim_of_other_diameters_never_go_together():
    """The bead seat diameters must be equal: ISO 5775-1 and -2."""
    found = mounted(wheel(pair(37, 590), rim(597, 19)))
    assert (found.tyre.told_size, found.rim.told_size) == ("37-590", "19-597")
    assert found.fit.if_right.value == "never" and not found.missing
    assert "590" in " ".join(found.sentences) and "picture" in found.sentences[-1]


def test_a_fit_is_no_surer_than_the_readings():
    found = mounted(wheel(pair(28, 622), rim(622, 19)))
    assert found.fit.if_right.value == "in a table of 2020 or later"
    surely = found.tyre.verdict is Verdict.SURE and found.rim.verdict is Verdict.SURE
    assert surely or found.fit.grade.value == "can't tell"


def test_what_was_not_seen_is_asked_for():
    for seen, missing in (((pair(28, 622),), "rim"), ((rim(622, 19),), "tyre"), ((), "both")):
        found = mounted(wheel(*seen))
        assert found.missing == missing and found.fit is None
        assert "hotograph" in found.sentences[0] and as_dict(found)["grade"] is None


def test_a_rim_with_its_size_in_both_notations_is_no_tyre():
    found = mounted(wheel(pair(19, 622), rim(622, 19)))
    assert found.tyre is None and found.missing == "tyre"
