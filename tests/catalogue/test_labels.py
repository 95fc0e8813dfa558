import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp

from reader.catalogue import (
    STOCK,
    Findings,
    PhotoRef,
    Place,
    Share,
    Sheet,
    add_part,
    find_by_photo,
    labels_pdf,
    sheet_named,
)
from reader.catalogue.db.codes import pretty, qr_text, tidy
from reader.errors import InputError
from reader.records import Size
from reader.tables import load_tables

TABLES = load_tables()


@pytest.fixture
def parts(file_catalogue):
    sure = add_part(file_catalogue, None, (), Place("Bin Å", "3"), size=Size(507, 47), kind="tyre")
    found = Findings("likely", "tyre", (Share("tyre", 590, 37, 0.8),), "{}")
    unsure = add_part(file_catalogue, found, [PhotoRef("1" * 40, "/1", "1")])
    return [sure, unsure]


def page(pdf: bytes, number: int = 0, dpi: int = 200) -> np.ndarray:
    return pypdfium2.PdfDocument(pdf)[number].render(scale=dpi / 72).to_numpy()


@pytest.mark.parametrize("name", STOCK)
def test_qr_codes_are_read_back_by_two_libraries(parts, name) -> None:
    pdf, expected = labels_pdf(parts, STOCK[name], TABLES), {qr_text(part.code) for part in parts}
    dots, (width, height) = 300 / 25.4, STOCK[name].label
    ours, theirs = set(), set()
    for number in range(len(pypdfium2.PdfDocument(pdf))):  # a roll's labels are pages of their own
        picture = page(pdf, number, dpi=300)
        ours |= {code.text for code in zxingcpp.read_barcodes(picture)}
        for x, y in list(STOCK[name].places())[: len(parts)]:
            top, left = max(0, round(y * dots)), max(0, round(x * dots))
            label = picture[top : top + round(height * dots), left : left + round(width * dots)]
            theirs.add(read_by_opencv(label))
    assert ours == theirs == expected


def read_by_opencv(label: np.ndarray) -> str:
    """The text of the label's code; about one code in a hundred it reads at one scale only."""
    for share in (1.0, 0.6, 1.5):
        scaled = cv2.resize(label, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
        if text := cv2.QRCodeDetector().detectAndDecode(scaled)[0]:
            return str(text)
    return ""


def test_text_says_size_names_and_doubt(parts) -> None:
    pdf = labels_pdf(parts, STOCK["63.5x38.1"], TABLES)
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded()
    assert "47-507" in text and "24 x 1.75" in text and "Bin Å · 3" in text
    assert "37-590 ?" in text and "80 %: check first" in text, "an unsure size is marked as such"
    assert pretty(parts[0].code) in text


@pytest.mark.parametrize("name", STOCK)
def test_each_label_lies_where_the_stock_has_it(parts, name) -> None:
    sheet = STOCK[name]
    pdf = labels_pdf([parts[0]] * (sheet.count + 1), sheet, TABLES)
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 2, "one more than a page holds"
    assert document[0].get_size() == pytest.approx([mm * 72 / 25.4 for mm in sheet.page])
    centres = [
        (code.position.top_left.x + code.position.bottom_right.x, code.position.top_left.y)
        for code in zxingcpp.read_barcodes(page(pdf))
    ]
    assert len(centres) == sheet.count
    mm = 25.4 / 200
    for x, y in sheet.places():
        inside = [
            (cx, cy)
            for cx, cy in centres
            if x < cx / 2 * mm < x + sheet.label[0] and y < cy * mm < y + sheet.label[1]
        ]
        assert len(inside) == 1


def test_skip_leaves_used_labels_free(parts) -> None:
    sheet = STOCK["70x37"]
    (code,) = zxingcpp.read_barcodes(page(labels_pdf(parts[:1], sheet, TABLES, skip=4)))
    assert code.position.top_left.x * 25.4 / 200 > 70
    assert 37 < code.position.top_left.y * 25.4 / 200 < 74


def test_blank_labels_have_codes_of_their_own(parts) -> None:
    found = zxingcpp.read_barcodes(page(labels_pdf([], STOCK["70x37"], TABLES, blank=5)))
    assert len({tidy(code.text) for code in found}) == 5


def photograph(picture: np.ndarray, path) -> None:
    """The label on a table, seen at an angle, a little dark and blurred."""
    height, width = picture.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    seen = np.array([[300, 250], [1250, 330], [1180, 1000], [240, 860]], np.float32)
    warp = cv2.getPerspectiveTransform(corners, seen)
    scene = np.full((1200, 1600, 3), 90, np.uint8)
    flat = cv2.warpPerspective(picture, warp, (1600, 1200), borderValue=(90, 90, 90))
    mask = cv2.warpPerspective(np.full_like(picture, 255), warp, (1600, 1200)) > 0
    scene[mask] = flat[mask]
    noise = np.random.default_rng(1).normal(0, 6, scene.shape)
    dark = cv2.GaussianBlur(scene, (3, 3), 0) * 0.7 + noise
    cv2.imwrite(str(path), dark.clip(0, 255).astype(np.uint8))


def test_photo_of_a_label_finds_the_part(file_catalogue, parts, tmp_path) -> None:
    picture = page(labels_pdf(parts[:1], STOCK["99.1x67.7"], TABLES), dpi=150)
    photograph(picture[60:500, :620, :3], tmp_path / "seen.jpg")
    assert find_by_photo(file_catalogue, tmp_path / "seen.jpg").code == parts[0].code


def test_photo_without_or_with_a_strange_label(file_catalogue, tmp_path) -> None:
    cv2.imwrite(str(tmp_path / "empty.png"), np.full((200, 200), 128, np.uint8))
    with pytest.raises(InputError, match="no QR code"):
        find_by_photo(file_catalogue, tmp_path / "empty.png")
    strange = page(labels_pdf([], STOCK["99.1x67.7"], TABLES, blank=1))
    cv2.imwrite(str(tmp_path / "strange.png"), strange)
    with pytest.raises(InputError, match="of no part"):
        find_by_photo(file_catalogue, tmp_path / "strange.png")


def test_sheets_that_make_no_sense() -> None:
    with pytest.raises(InputError, match="known are"):
        sheet_named("3x3")
    with pytest.raises(InputError, match="the page is 210 mm wide"):
        Sheet((210, 297), (70, 37), 4, 8, (0, 0))
    with pytest.raises(InputError, match="makes no sense"):
        Sheet((210, 297), (70, 5), 3, 8, (0, 0))
