"""The automaton against explicit enumeration, published worked examples and drawn evidence."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from drawn_letters import ALPHABET, evidence
from hypothesis import given, settings
from hypothesis import strategies as st

from reader.markings import arcs as walk
from reader.markings import automaton
from reader.markings.automaton import greedy, score
from reader.markings.trie import all_notations, compile_trie


def trie_of(*texts: str):
    return compile_trie(("test", text, {"text": text}) for text in texts)


def best(found):
    return {marking.text: marking for marking in found}


def by_enumeration(cost: np.ndarray, text: str, alphabet: str) -> float:
    """The cheapest labelling of any window that collapses to `text`: every one is tried."""
    frames, columns = cost.shape
    space = alphabet.find(" ") + 1
    cheapest = np.inf
    for first in range(frames):
        for last in range(first, frames):
            for labels in itertools.product(range(columns), repeat=last - first + 1):
                if labels[0] in (0, space) or labels[-1] in (0, space):
                    continue
                folded = [0 if c == space else c for c in labels]
                spelt = "".join(alphabet[c - 1] for c, _ in itertools.groupby(folded) if c > 0)
                if spelt == text:
                    paid = sum(cost[first + i, c] for i, c in enumerate(labels))
                    cheapest = min(cheapest, paid)
    return float(cheapest)


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["A", "AB", "AA", "ABA", "BBA", "AABB"]))
def test_equals_explicit_enumeration(seed, text):
    alphabet = "AB "
    cost = np.random.default_rng(seed).uniform(0, 4, (5, 4)).astype(np.float32)
    cost -= cost.min(axis=1, keepdims=True)  # the freest reading costs nothing: no doubt is added
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(walk, "BLANK_SURE", 2.0)  # no folding of blank runs
        found = score(-cost, alphabet, trie=trie_of(text), budget=50)
    expected = by_enumeration(cost, text, alphabet)
    if np.isinf(expected):
        assert found == ()
    else:
        assert found[0].cost == pytest.approx(expected, abs=1e-4)


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1))
def test_cutting_at_the_budget_loses_nothing_below_it(seed):
    rng = np.random.default_rng(seed)
    texts = {"".join(rng.choice(list("AB"), rng.integers(1, 6))) for _ in range(12)}
    logs = -rng.uniform(0, 6, (9, 3)).astype(np.float32)
    wide = score(logs, "AB", trie=trie_of(*texts), budget=60, keep=99)
    narrow = score(logs, "AB", trie=trie_of(*texts), budget=30, keep=99)
    expected = {m.text: m.cost for m in wide if m.cost <= 30}
    assert {m.text: m.cost for m in narrow} == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("labelling", ["a-ab-", "-aa--abb"])
def test_published_collapse_examples(labelling):
    """Graves et al. 2006, section 3.1: both labellings collapse to 'aab' ('-' is the blank)."""
    probs = np.full((len(labelling), 3), 1e-9, np.float32)
    probs[range(len(labelling)), ["-ab".index(c) for c in labelling]] = 1
    assert "".join(letter for letter, *_ in greedy(np.log(probs), "AB")) == "AAB"
    found = best(score(np.log(probs), "AB", trie=trie_of("AAB", "ABB", "AAAB")))
    assert set(found) == {"AAB"}
    assert found["AAB"].cost == pytest.approx(0, abs=1e-4)


def test_clean_marking_among_other_text_costs_nothing_and_tells_its_span():
    logs = evidence("MADE 47-507 INFLATE")
    found = score(logs, ALPHABET, trie=trie_of("47-507", "47-559"))
    assert found[0].text == "47-507"
    assert found[0].cost < 0.05
    assert found[0].span == (5, 11)


def test_shared_text_is_told_for_both_notations():
    spellings = [
        ("iso_pair", "25-622", {"width_mm": 25.0, "bsd_mm": 622.0}),
        ("rim", "25-622", {"bsd_mm": 622.0, "width_mm": 25.0, "kind": "", "order": "width"}),
    ]
    found = score(evidence("25-622"), ALPHABET, trie=compile_trie(spellings))
    assert [m.notation for m in found] == ["iso_pair", "rim"]
    assert found[0].numbers == {"width_mm": 25.0, "bsd_mm": 622.0}


@pytest.mark.parametrize("written", ["26 X 1 3/8", "26X1 3/8", "26 X 13/8", "26x13/8"])
def test_spaces_and_case_make_no_difference(written):
    found = score(evidence(written), ALPHABET, trie=trie_of("26 X 1 3/8", "26 X 1 1/4"))
    assert found[0].text == "26 X 1 3/8"
    assert found[0].cost < 0.05


def test_a_space_inside_a_number_costs():
    trie = trie_of("125-622")
    assert score(evidence("1 25-622"), ALPHABET, trie=trie)[0].cost == pytest.approx(
        walk.SPACE_PENALTY, abs=0.1
    )


def test_every_spelling_keeps_its_cheapest_text_once():
    numbers = {"n": 1.0}
    trie = compile_trie([("test", "26-1 3/8", numbers), ("test", "26X1 3/8", numbers)])
    found = score(evidence("26{-|X}1 3/8", sure=0.9), ALPHABET, trie=trie)
    assert len(found) == 1


def test_smudged_digit_ranks_what_it_can_be():
    found = score(evidence("47-5{0|4}7"), ALPHABET, trie=trie_of("47-507", "47-547", "47-559"))
    assert {m.text for m in found[:2]} == {"47-507", "47-547"}
    assert abs(found[0].cost - found[1].cost) < 0.01
    assert "47-559" not in best(found[:2])


@pytest.mark.parametrize("written", ["147-507", "1.47-507", "47-5071", "47-507.5"])
def test_glued_number_is_penalised_not_forbidden(written):
    found = score(evidence(written), ALPHABET, trie=trie_of("47-507"))
    assert found[0].cost == pytest.approx(automaton.GLUED_PENALTY, abs=0.1)


@pytest.mark.parametrize("written", ["A47-507", "47-507.", "12 47-507 12"])
def test_other_neighbours_are_free(written):
    assert score(evidence(written), ALPHABET, trie=trie_of("47-507"))[0].cost < 0.1


def test_without_spaces_in_the_alphabet_a_wide_gap_parts_numbers():
    alphabet = ALPHABET.replace(" ", "")
    near = evidence("747-507", alphabet)
    wide = np.insert(near, [4] * 9, near[0], axis=0)
    trie = trie_of("47-507")
    assert score(near, alphabet, trie=trie)[0].cost > automaton.GLUED_PENALTY - 0.1
    assert score(wide, alphabet, trie=trie)[0].cost < 0.1


def test_longer_marking_that_reads_as_well_beats_its_part():
    found = best(score(evidence("26 X 1 3/8"), ALPHABET, trie=trie_of("26 X 1", "26 X 1 3/8")))
    assert found["26 X 1 3/8"].cost < 0.1
    assert found["26 X 1"].cost > 3.5


def test_part_keeps_its_cost_where_the_longer_one_is_not_there():
    found = best(score(evidence("26 X 1 ABC"), ALPHABET, trie=trie_of("26 X 1", "26 X 1 3/8")))
    assert found["26 X 1"].cost < 0.1
    assert "26 X 1 3/8" not in found


def test_flat_frames_tell_nothing():
    flat = np.full((60, len(ALPHABET) + 1), -np.log(len(ALPHABET) + 1), np.float32)
    assert score(flat, ALPHABET, trie=trie_of("47-507", "47-559")) == ()


def test_nothing_in_nothing_out():
    assert score(np.zeros((0, 5), np.float32), "1234", trie=trie_of("1")) == ()
    blank = np.log(np.array([[0.999999, 1e-9]] * 5, np.float32))
    assert score(blank, "1", trie=trie_of("1")) == ()
    assert score(blank, "1", trie=trie_of("2")) == ()
    assert score(blank, "1", trie=compile_trie([])) == ()


def test_marking_read_against_the_freest_reading_alone():
    """A window without one letter of the freest reading has no span, and no neighbours."""
    logs = np.log(np.array([[0.6, 0.4], [0.6, 0.4]], np.float32))
    found = score(logs, "1", trie=trie_of("1"))
    assert found[0].span == (0, 0)


def test_look_alike_signs_stand_for_each_other():
    alphabet = "0123456789–×,"
    assert score(evidence("47–507", alphabet), alphabet, trie=trie_of("47-507"))
    assert score(evidence("20×1,75", alphabet), alphabet, trie=trie_of("20X1.75"))


@pytest.mark.parametrize("seen", ["I5C-6O9", "15C-609", "1SC-6O9"])
def test_letters_of_a_digits_shape_stand_for_it(seen):
    found = best(score(evidence(seen), ALPHABET))
    assert found["15C-609"].cost < 1.5


# The forms with dash and dot: 26 x 1-3/8 and 26 x 1.3/8 stand on tyres (size list, section 2).
@pytest.mark.parametrize("written", ["20x1.1/2", "20x1-1/2", "12-1/2x2-1/4", "12.1/2 x 2.1/4"])
def test_a_fraction_may_be_parted_by_dash_or_dot(written):
    found = [m for m in score(evidence(written), ALPHABET) if m.notation == "inch_fraction"]
    assert min(m.cost for m in found) < 0.5


def test_a_name_cut_short_before_its_fraction_is_no_whole_inch():
    def cost(written):
        return min(m.cost for m in score(evidence(written), ALPHABET) if m.text == "27X1")

    assert cost("27x1 37-609") < 0.5
    assert cost("27x1 1 37-609") >= automaton.GLUED_PENALTY


def test_many_alternatives_are_kept_down_to_the_best(monkeypatch):
    monkeypatch.setattr(walk, "BEAM", 8)
    texts = [f"{a}{b}-622" for a in range(10) for b in range(10)]
    logs = evidence("{2|4}{5|7}-622", sure=0.99)
    found = score(logs, ALPHABET, trie=trie_of(*texts), keep=2)
    assert len(found) == 2
    assert {m.text for m in found} <= {"25-622", "27-622", "45-622", "47-622"}


def test_repeated_letter_needs_a_blank_between():
    trie = trie_of("22")
    parted = evidence("22", pitch=2)
    together = np.delete(parted, 2, axis=0)
    assert score(parted, ALPHABET, trie=trie)[0].cost < 0.1
    assert score(together, ALPHABET, trie=trie) == ()


@settings(max_examples=30)
@given(st.integers(18, 99), st.sampled_from([406, 507, 559, 584, 590, 622]))
def test_what_is_written_is_found_first(width, bsd):
    trie = trie_of(*(f"{w}-{b}" for w in range(18, 100) for b in (406, 507, 559, 584, 590, 622)))
    assert score(evidence(f"{width}-{bsd}"), ALPHABET, trie=trie)[0].text == f"{width}-{bsd}"


def real_spellings():
    ends = [spelling for group in all_notations().ends.values() for spelling in group]
    letters = set(ALPHABET.upper())
    return [one for one in ends if set(one[1].upper()) <= letters]


@settings(max_examples=40)
@given(st.integers(0, 10**9))
def test_every_real_spelling_is_found_as_itself(pick):
    spellings = real_spellings()
    notation, text, numbers = spellings[pick % len(spellings)]
    found = score(evidence(text.upper()), ALPHABET)
    same = [m for m in found if m.notation == notation and m.numbers == numbers]
    assert same[0].cost < 0.5
    assert same[0].cost <= found[0].cost + 0.3


def test_sizes_shipped_with_the_rows_are_spelt():
    """The texts of the ISO 5775 overview and of kosunacycle.com/archives/1133, read there."""
    for text in ("32-597", "37-590", "26 X 1 3/8", "47-406", "20X1.75", "28-622", "700X28C"):
        assert score(evidence(text), ALPHABET)[0].cost < 0.5, text


# Both lines stand on tyres as they are, spaces included: kosunacycle.com/archives/1133.
@pytest.mark.parametrize("written", ["37-59026x1 3/8", "26x1 3/837-590"])
def test_two_sizes_without_a_space_between_are_both_read(written):
    found = best(score(evidence(written), ALPHABET))
    assert found["37-590"].cost < 1.5
    assert found["26X1 3/8"].cost < 1.5


def test_a_number_that_goes_on_with_no_size_stays_penalised():
    found = best(score(evidence("37-59026 PSI"), ALPHABET))
    assert found["37-590"].cost >= automaton.GLUED_PENALTY


def test_a_screw_thread_is_no_tyre():  # ISO 261:1998 writes M, diameter, cross, pitch
    thread = [m for m in score(evidence("M12x1.25"), ALPHABET) if m.notation == "inch_decimal"]
    tyre = [m for m in score(evidence("12x1.25"), ALPHABET) if m.notation == "inch_decimal"]
    assert min(m.cost for m in tyre) < 0.5
    assert not thread or min(m.cost for m in thread) > 3
