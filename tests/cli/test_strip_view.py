from io import BytesIO

from PIL import Image

from reader.cli.strip_view import MOST_ROWS, strip_text


def png(picture: Image.Image) -> bytes:
    out = BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def test_picture_fits_the_terminal_and_keeps_its_shape() -> None:
    picture = Image.new("L", (400, 80), 0)
    picture.paste(255, (200, 0, 400, 80))
    rows = strip_text(png(picture), 81, False).plain.splitlines()
    assert {len(row) for row in rows} == {80} and len(rows) == 8
    assert rows[0] == " " * 40 + "█" * 40
    assert len(strip_text(png(Image.new("L", (40, 400))), 81, True).plain.splitlines()) == MOST_ROWS


def test_greys_are_shown_where_the_terminal_can() -> None:
    picture = Image.new("L", (100, 20), 0)
    picture.paste(255, (0, 10, 100, 20))
    text = strip_text(png(picture), 51, True)
    colours = {(span.style.color.name, span.style.bgcolor.name) for span in text.spans}
    assert ("rgb(0,0,0)", "rgb(0,0,0)") in colours and ("rgb(255,255,255)",) * 2 in colours


def test_a_long_picture_goes_on_below_with_a_little_shown_twice() -> None:
    picture = Image.new("L", (800, 80), 0)
    picture.paste(255, (400, 0, 800, 80))
    rows = strip_text(png(picture), 81, False).plain.splitlines()
    assert len(rows) == 16 and rows[7].endswith("█") and rows[7].startswith(" " * 60)
    assert set(rows[8][:3]) == {" "} and set(rows[8][5:]) == {"█"}
