import seen

from reader.selection import cleanest, plainest


def of(line, notation, text, cost, span=None):
    made = seen.marking(line, notation, cost=cost, text=text)
    return made if span is None else type(made)(notation, text, {}, span, cost, line)


def texts(markings):
    return [one.text for one in plainest(markings)]


def test_of_all_spellings_of_a_place_the_cleanest_stands():
    line = seen.line("5B-787 65 PSI")
    pair, rival = of(line, "iso_pair", "58-787", 0.2, (0, 6)), of(line, "rim", "38-787", 6, (0, 6))
    pressure = of(line, "pressure", "65 PSI", 0.0, (7, 13))
    assert texts([rival, pair, pressure]) == ["65 PSI", "58-787"]


def test_a_line_read_by_two_engines_or_both_ways_is_one_place():
    upright = seen.line("47-507", x=10, y=50, length=100)
    again = seen.line("xx 47-5O7", x=12, y=54, length=98, engine="tesseract")
    turned = seen.line("L0S-L4", x=110, y=50, length=-100)
    found = [of(turned, "iso_pair", "20-559", 3.0), of(again, "iso_pair", "47-501", 2.0)]
    assert texts([*found, of(upright, "iso_pair", "47-507", 0.0)]) == ["47-507"]


def test_other_lines_and_other_photos_are_other_places():
    lines = [seen.line("47-507", y=50), seen.line("24 x 1.75", y=90)]
    lines.append(seen.line("40-507", y=50, photo="other.jpg"))
    found = [of(line, "iso_pair", line.text, n) for n, line in enumerate(lines)]
    assert texts(found) == ["47-507", "24 x 1.75", "40-507"]
    assert texts([found[0], of(lines[1], "rim", "47-507", 9)]) == ["47-507"], "no text twice"


def test_a_dozen_of_each_notation_is_kept_in_their_order():
    line = seen.line("47-507")
    many = [of(line, "iso_pair", f"{n}-507", 30 - n) for n in range(20)]
    kept = cleanest([*many, of(line, "rim", "19-507", 50)])
    assert [one.text for one in kept] == [*(f"{n}-507" for n in range(8, 20)), "19-507"]
