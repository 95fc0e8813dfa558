"""A sure diameter with an open width: found, counted and offered as that, never as a fit."""

from io import StringIO

import pytest
from rich.console import Console

from reader.catalogue import (
    Findings,
    PhotoRef,
    Share,
    accept,
    add_part,
    correct,
    fits,
    get_part,
    history,
    open_catalogue,
    pairs,
    read_list,
    review_queue,
    search,
    tally,
    write_list,
)
from reader.catalogue.intake.findings import findings_of
from reader.catalogue.review.settle import reopen
from reader.cli import find_run, review_run
from reader.cli.part_list import cells
from reader.fit.doubtful import LOOK_CLOSER
from reader.fit.grades import Grade
from reader.fit.parts import Rim
from reader.records import Candidate, Judgement, Reading, Size, Verdict
from reader.tables import load_tables

TABLES = load_tables()
APART = ("bsd_verdict", "bsd_probability", "width_verdict")


def apart(part) -> tuple:
    return tuple(getattr(part, name) for name in APART)


def read(catalogue, name, *shares, kind="tyre", verdict="can't tell", bsd=("sure", 0.995)):
    made = tuple(Share(kind, 622, width, p) for width, p in shares)
    found = Findings(
        verdict, kind, made, "{}", bsd_verdict=bsd[0], bsd_probability=bsd[1],
        width_verdict="can't tell",
    )  # fmt: skip
    return add_part(catalogue, found, [PhotoRef(f"{name:0>40}", f"/{name}", name)])


@pytest.fixture
def catalogue(file_catalogue):
    return file_catalogue


@pytest.fixture
def open_width(catalogue):
    return read(catalogue, "1", (37, 0.5), (40, 0.495))


def hand(catalogue, width, kind):
    return add_part(catalogue, size=Size(622, width), kind=kind)


def test_the_three_judgements_of_a_reading_are_kept() -> None:
    found = findings_of(
        Reading(
            (Candidate(Size(622, 37), "tyre", 0.5), Candidate(Size(622, 40), "tyre", 0.49)),
            Verdict.CANT_TELL,
            diameter=Judgement(622, 0.995, Verdict.SURE),
            width=Judgement(37.0, 0.5, Verdict.LIKELY, nominal=True),
        )
    )
    assert apart(found) == ("sure", 0.995, "can't tell"), "a name's width is a nominal one"
    whole = findings_of(Reading((Candidate(Size(622, 37), "tyre", 0.9),), Verdict.LIKELY))
    assert apart(whole) == ("likely", 0.9, "likely")
    assert apart(findings_of(Reading((), Verdict.NONE))) == ("none", 0.0, "none")


def test_found_by_its_diameter_and_shown_without_a_width(catalogue, open_width) -> None:
    (part,) = search(catalogue, bsd=622)
    assert part.code == open_width.code and part.width_open
    assert cells(part)[1] == "?-622" and "diameter sure" in cells(part)[4]


def test_certain_in_a_count_by_diameter_only(catalogue, open_width) -> None:
    assert {line.name: line.certain for line in tally(catalogue, "bsd")}["622 mm"] == 1
    assert all(line.certain == 0 for line in tally(catalogue, "size"))
    assert all(line.certain == 0 for line in tally(catalogue, "width"))


def test_review_says_what_is_sure_already(catalogue, open_width) -> None:
    console = Console(file=StringIO(), width=80)
    (item,) = review_queue(catalogue)
    review_run._show(console, item, 1)
    assert "the diameter is sure, 622 mm; the width is open" in console.file.getvalue()


def test_what_nobody_read_is_not_certain(catalogue) -> None:
    add_part(catalogue, Findings("none", "tyre", (), "{}"), [PhotoRef("2" * 40, "/2", "2")])
    (line,) = tally(catalogue, "bsd")
    assert (line.name, line.expected, line.certain, line.settled) == ("not read", 1, 0, 0)


@pytest.mark.parametrize("widths", [(37, 40), (8, 12)], ids=["in tables", "in no table"])
def test_offered_as_an_open_question_never_as_a_fit(catalogue, widths) -> None:
    rest = 0.3 if widths == (8, 12) else 0.495
    read(catalogue, "1", (widths[0], 0.4), (widths[1], rest))
    (found,) = fits(catalogue, Rim(Size(622, 19)), TABLES)
    assert found.fit.grade is Grade.CANT_TELL and found.fit.width_open
    assert found.fit.words.startswith(LOOK_CLOSER)
    assert find_run._word(found) == LOOK_CLOSER
    assert fits(catalogue, Rim(Size(630, 19)), TABLES) == []


def test_a_diameter_that_is_only_likely_stays_a_doubtful_reading(catalogue) -> None:
    read(catalogue, "1", (37, 0.5), (40, 0.4), bsd=("likely", 0.95))
    (found,) = fits(catalogue, Rim(Size(622, 19)), TABLES)
    assert found.fit.grade is Grade.CANT_TELL and not found.fit.width_open


def test_pairs_say_that_only_the_diameter_fits(catalogue, open_width) -> None:
    hand(catalogue, 19, "rim")
    ((pair,), alone) = pairs(catalogue, TABLES)
    assert (pair.grade, pair.if_right, pair.width_open) == (
        Grade.CANT_TELL, Grade.CANT_TELL, True,
    )  # fmt: skip
    assert pair.chance == pytest.approx(0.995) and alone == []
    assert find_run._grade(pair).startswith(LOOK_CLOSER)


def test_an_open_width_takes_no_part_from_a_fit(catalogue, open_width) -> None:
    hand(catalogue, 19, "rim")
    known = hand(catalogue, 37, "tyre")
    ((pair,), (alone,)) = pairs(catalogue, TABLES)
    assert pair.tyre.code == known.code and pair.grade is Grade.OLDER
    assert alone.size == Size(622), "what stays alone is of no width"


def test_a_persons_word_makes_both_sure_until_it_is_taken_back(catalogue, open_width) -> None:
    assert apart(accept(catalogue, open_width.code)) == ("sure", 1.0, "sure")
    (found,) = fits(catalogue, Rim(Size(622, 19)), TABLES)
    assert found.fit.grade is Grade.OLDER
    assert apart(reopen(catalogue, open_width.code)) == ("sure", 0.995, "can't tell")
    assert apart(correct(catalogue, open_width.code, Size(622, None), "tyre")) == (
        "sure", 1.0, "none",
    )  # fmt: skip


@pytest.mark.parametrize("verdict", ["sure", "can't tell"])
def test_a_sure_diameter_against_a_person_leaves_nothing_sure(catalogue, open_width, verdict):
    correct(catalogue, open_width.code, Size(590, 37), "tyre")
    share = Share("tyre", 622, 37, 0.999)
    new = Findings(verdict, "tyre", (share,), "{}", bsd_verdict="sure")
    add_part(catalogue, new, [PhotoRef("9" * 40, "/9", "9")], code=open_width.code)
    part = get_part(catalogue, open_width.code)
    told = {"sure": "37-622", "can't tell": "622 mm"}[verdict]
    assert any(f"reads {told} for sure" in one["detail"] for one in history(catalogue, part.code))
    assert (part.state, part.bsd_verdict, part.width_verdict) == (
        "doubted", "can't tell", "can't tell",
    )  # fmt: skip


@pytest.mark.parametrize("suffix", [".csv", ".parquet"])
def test_a_list_brings_all_of_it_to_another_catalogue(catalogue, open_width, tmp_path, suffix):
    by_hand = hand(catalogue, 28, "tyre")
    write_list(catalogue, tmp_path / f"all{suffix}")
    other = open_catalogue(tmp_path / "other.sqlite")
    try:
        read_list(other, tmp_path / f"all{suffix}")
        for part in (open_width, by_hand):
            assert apart(get_part(other, part.code)) == apart(part)
        lines = {line.name: line for line in tally(other, "bsd")}
        assert lines["622 mm"].certain == 2
        assert lines["622 mm"].expected == pytest.approx(1.995)
        found = fits(other, Rim(Size(622, 19)), TABLES)
        assert {one.part.code: one.fit.width_open for one in found} == {
            open_width.code: True, by_hand.code: False,
        }  # fmt: skip
    finally:
        other.close()


def test_a_list_without_these_columns_is_as_sure_as_its_sizes(catalogue, tmp_path) -> None:
    text = "kind,bsd_mm,width_mm,state,verdict,probability\n"
    text += "tyre,622,37,open,likely,0.8\ntyre,622,40,,,\ntyre,622,,,,\ntyre,,,open,,\n"
    (tmp_path / "old.csv").write_text(text)
    read_list(catalogue, tmp_path / "old.csv")
    assert sorted(map(apart, search(catalogue))) == [
        ("likely", 0.8, "likely"), ("none", 0.0, "none"), ("sure", 1.0, "none"),
        ("sure", 1.0, "sure"),
    ]  # fmt: skip


@pytest.mark.parametrize("columns", ["100", "80"])
def test_a_list_of_what_fits_says_look_closer_in_full(
    catalogue, open_width, capsys, monkeypatch, columns
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    find_run._fits(fits(catalogue, Rim(Size(622, 19)), TABLES), "622x19C", as_json=False)
    told = capsys.readouterr().out
    assert LOOK_CLOSER in told and "?-622" in told and "37-622" not in told
    assert max(map(len, told.splitlines()[:2])) <= int(columns)
