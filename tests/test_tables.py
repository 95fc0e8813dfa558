"""Every row of the data files as a row, and what loading does with a broken file."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from reader.errors import InputError
from reader.name_rows import ERAS, make_name
from reader.table_rows import inches, make_seat
from reader.tables import DATA, load_tables, rows

TABLES = load_tables()
HAND_MADE = sorted(path.name for path in DATA.glob("*.csv"))


def _cells(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize(
    "name", [one for one in HAND_MADE if one not in ("sources.csv", "prior.csv", "names.csv")]
)
def test_every_row_has_a_known_source_and_an_honest_basis(name: str) -> None:
    seen = set()
    for row in _cells(name):
        assert row["source"] in TABLES.sources
        assert row["basis"] in ("read", "single", "memory", "practice")
        assert (row["source"] == "MEM") == (row["basis"] == "memory"), row
        assert (row["source"] == "PRACTICE") == (row["basis"] == "practice"), row
        line = tuple(row.values())
        assert line not in seen, f"twice: {row}"
        seen.add(line)


def test_every_source_is_used_or_is_a_definition() -> None:
    used = {
        row["source"]
        for name in HAND_MADE
        if name not in ("sources.csv", "prior.csv", "names.csv")
        for row in _cells(name)
    }
    used |= {key for row in TABLES.names for key in row.sources}
    cited_in_code = {"UNIT", "GEO", "LOAD", "GER", "OWN", "JP3", "I2", "SB", "JP2", "LFG", "XJD"}
    assert set(TABLES.sources) - used <= cited_in_code


def test_seats_are_unique_and_in_range() -> None:
    assert len(set(TABLES.bsds)) == len(TABLES.seats)
    for seat in TABLES.seats:
        assert 90 <= seat.bsd <= 800
        assert seat.kind in ("wired", "beaded")


def test_names_are_in_range_and_point_to_seats_that_exist() -> None:
    for row in TABLES.names:
        assert row.bsd in TABLES.seat
        assert row.home in ("", *TABLES.markets)
        assert bool(row.home) <= (row.doubt == "local")
        assert set(row.sources) <= set(TABLES.sources)
        if row.notation == "french":
            assert 200 <= int(row.diameter) <= 700
            assert row.mark in ("", "A", "B", "C", "D")
        elif row.notation.startswith("inch") and row.doubt != "misprint":
            diameter = inches(row.diameter)
            assert 7 <= diameter <= 36
            outer = row.bsd + 2 * 25.4 * inches(row.widths[0] if row.widths else "2")
            assert abs(outer - 25.4 * diameter) < 0.25 * 25.4 * diameter, row
        assert row.low < row.high


def test_names_stand_in_the_order_of_the_table_and_once() -> None:
    """Diameter, then era and origin, then the smallest diameter that the same text also means."""
    meant: dict[str, set[int]] = {}
    for row in TABLES.names:
        meant.setdefault(row.text, set()).add(row.bsd)
    order = [
        (
            row.bsd,
            ERAS.index(row.era),
            row.origin.lower(),
            min(meant[row.text] - {row.bsd}, default=0),
            row.text,
        )
        for row in TABLES.names
    ]
    assert order == sorted(order)
    assert len({(row.text, row.bsd) for row in TABLES.names}) == len(TABLES.names)


def test_copies_of_one_list_count_once_and_memory_never() -> None:
    assert TABLES.families["Y"] == TABLES.families["NL"] == TABLES.families["DOT"]
    assert {TABLES.families[key] for key in ("MEM", "DB", "LIST", "HL3", "PRACTICE", "OWN")} == {
        "-"
    }


def test_the_prior_holds_every_seat_and_rules_none_out() -> None:
    for market in TABLES.markets:
        shares = [TABLES.prior(bsd, market) for bsd in TABLES.bsds]
        assert all(share > 0 for share in shares)
        assert sum(shares) == pytest.approx(1)


def test_the_prior_keeps_the_order_of_the_workshop_table() -> None:
    """Standard, common and less common sizes as ranked by source DB (US and Canada)."""
    prior = {bsd: TABLES.prior(bsd, "north-america") for bsd in TABLES.bsds}
    common, less = (584, 597), (590, 571, 520, 451)
    assert min(prior[bsd] for bsd in (622, 559, 630, 507, 406, 305, 203)) > max(
        prior[bsd] for bsd in less
    )
    assert prior[584] > prior[590]
    assert min(prior[bsd] for bsd in (*common, *less)) > prior[642]


def test_inch_widths_stand_near_their_arithmetic_value() -> None:
    for row in TABLES.inch_rows:
        if row.style != "french":
            assert row.tyre_mm == pytest.approx(25.4 * inches(row.text), abs=4)


def test_width_rows_are_in_range_and_unique() -> None:
    keys = [(row.part, row.width) for row in TABLES.width_rows]
    assert len(keys) == len(set(keys))
    for row in TABLES.width_rows:
        assert row.weight > 0 and row.bsd_from <= row.bsd_to
        assert 18 <= row.width <= 127 if row.part == "tyre" else 12 <= row.width <= 100


def test_rules_and_limits_are_in_range() -> None:
    for rule in TABLES.width_rules:
        assert 12 <= rule.rim_from <= rule.rim_to < rule.tyre_to
        assert rule.tyre_from <= rule.tyre_to
    for limit in TABLES.pressure_limits:
        assert limit.limit in ("max", "min")
        assert 150 <= limit.kpa <= 550


def test_of_2020_only_measuring_rims_ship() -> None:
    """Whole ranges of 2020 were not read anywhere: no row of them may slip in from memory."""
    of_2020 = [rule for rule in TABLES.width_rules if "2020" in rule.edition]
    assert of_2020 and all(rule.role == "measuring" for rule in of_2020)


def test_widths_exist_per_diameter() -> None:
    assert 23 in TABLES.tyre_widths_at(622)
    assert 23 not in TABLES.tyre_widths_at(203)
    assert 19 in TABLES.rim_widths_at(622)
    assert sum(TABLES.width_weight[key] for key in TABLES.width_weight) == pytest.approx(2)
    assert TABLES.tyre_widths == tuple(sorted(TABLES.tyre_widths))
    assert TABLES.rim_widths[0] == 13


def test_printed_inch_widths_are_listed_with_their_spellings() -> None:
    assert TABLES.inch_widths("inch_fraction", "27")[:2] == ("1", "1 1/8")
    assert {"1.5", "1.50", "2.125"} <= set(TABLES.inch_widths("inch_decimal", "24"))


def test_an_unknown_market_is_an_error_that_lists_the_known() -> None:
    with pytest.raises(InputError, match="world, north-america"):
        TABLES.prior(622, "moon")


def test_a_broken_line_names_file_and_line(tmp_path: Path) -> None:
    shutil.copytree(DATA, tmp_path / "data", ignore=shutil.ignore_patterns("models*"))
    broken = tmp_path / "data" / "seats.csv"
    broken.write_text("bsd_mm,kind,note,source,basis\nabc,wired,,DB,read\n")
    with pytest.raises(InputError, match="seats.csv, line 2"):
        load_tables(tmp_path / "data")


def test_a_wrong_basis_is_an_error(tmp_path: Path) -> None:
    path = tmp_path / "seats.csv"
    path.write_text("bsd_mm,kind,note,source,basis\n622,wired,,DB,guessed\n")
    with pytest.raises(InputError, match="guessed"):
        rows(path, make_seat)


def test_a_missing_file_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can't open"):
        rows(tmp_path / "none.csv", make_seat)
    assert TABLES.source_title("MEM") == "From memory"


@pytest.mark.parametrize(
    "change",
    [{"name": "28 x 1 5/8 x what"}, {"name": "26 x wide"}, {"doubt": "perhaps"}, {"era": "soon"}],
)
def test_a_name_that_makes_no_sense_is_refused(change: dict[str, str]) -> None:
    cells = dict(_cells("names.csv")[0]) | change
    with pytest.raises(ValueError):
        make_name(cells)
