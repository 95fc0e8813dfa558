from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from reader.catalogue.db.codes import code_of, new_code, pretty, qr_text, tidy
from reader.catalogue.intake.files import SeenFile, find_files, look_at
from reader.catalogue.intake.group import group
from reader.catalogue.intake.photofile import photo_ref, taken
from reader.errors import InputError, PhotoError
from reader.photo.formats import SUFFIXES

START = datetime(2026, 5, 4, 10, 0, tzinfo=UTC)


def seen(name: str, seconds: float = 0, label: str | None = "", root: str = "/depot") -> SeenFile:
    moment = (START + timedelta(seconds=seconds)).replace(tzinfo=None).isoformat()
    return SeenFile(Path(root, name), Path(root), 9, 0, f"{name:0>40}", moment, label)


def names(groups) -> list[list[str]]:
    return [[file.path.name for file in item.files] for item in groups]


def test_one_folder_a_part_and_the_folder_above_is_the_bin() -> None:
    files = [seen("A/p1/1.jpg"), seen("A/p1/2.jpg"), seen("A/p2/1.jpg"), seen("B/p1/1.jpg")]
    groups, left = group(files)
    assert names(groups) == [["1.jpg", "2.jpg"], ["1.jpg"], ["1.jpg"]] and left == []
    assert [item.place.bin for item in groups] == ["A", "A", "B"]
    assert groups[0].day == "2026-05-04"


def test_a_heap_of_photos_is_not_one_part() -> None:
    groups, left = group([seen(f"heap/{n:02}.jpg") for n in range(30)])
    assert groups == [] and len(left) == 30
    assert "--by time" in left[0].reason


def test_a_pause_begins_the_next_part() -> None:
    files = [seen(f"{n}.jpg", at) for n, at in enumerate((0, 5, 25, 46, 50))]
    groups, _ = group(files, by="time", gap=20)
    assert names(groups) == [["0.jpg", "1.jpg", "2.jpg"], ["3.jpg", "4.jpg"]]


def test_time_counts_not_the_name() -> None:
    groups, _ = group([seen("b.jpg", 0), seen("a.jpg", 100), seen("c.jpg", 3)], by="time")
    assert sorted(names(groups)) == [["a.jpg"], ["b.jpg", "c.jpg"]]


def test_a_label_begins_its_part() -> None:
    one, two = qr_text(code_of("one")), qr_text(code_of("two"))
    files = [
        seen("0.jpg", 0),
        seen("1.jpg", 1, one),
        seen("2.jpg", 2),
        seen("3.jpg", 3, two),
        seen("4.jpg", 4),
        seen("5.jpg", 5, one),
        seen("6.jpg", 6, "https://example.org/shelf"),
    ]
    groups, left = group(files, by="code")
    found = {item.code: [file.path.name for file in item.files] for item in groups}
    assert found == {
        code_of("one"): ["1.jpg", "2.jpg", "5.jpg"],
        code_of("two"): ["3.jpg", "4.jpg"],
        None: ["6.jpg"],
    }
    assert [Path(item.path).name for item in left] == ["0.jpg"]


def test_after_a_picture_that_cannot_be_opened_nothing_joins_the_part_before() -> None:
    one, two = qr_text(code_of("one")), qr_text(code_of("two"))
    files = [
        seen("0.jpg", 0, one),
        seen("1.jpg", 1),
        replace(seen("2.jpg", 2), trouble="2.jpg is damaged: copy it anew"),
        seen("3.jpg", 3),
        seen("4.jpg", 4),
        seen("5.jpg", 5, two),
        seen("6.jpg", 6),
    ]
    groups, left = group(files, by="code")
    assert sorted(names(groups)) == [["0.jpg", "1.jpg"], ["5.jpg", "6.jpg"]]
    assert sorted(Path(item.path).name for item in left) == ["2.jpg", "3.jpg", "4.jpg"]
    reasons = {Path(item.path).name: item.reason for item in left}
    assert "2.jpg" in reasons["3.jpg"] and "label" in reasons["3.jpg"]
    assert reasons["3.jpg"] == reasons["4.jpg"] and "\n" not in reasons["3.jpg"]


def test_the_same_label_shown_again_ends_the_doubt() -> None:
    one = qr_text(code_of("one"))
    broken = replace(seen("1.jpg", 1), trouble="damaged: copy it anew")
    files = [
        seen("0.jpg", 0, one),
        broken,
        seen("2.jpg", 2),
        seen("3.jpg", 3, one),
        seen("4.jpg", 4),
    ]
    groups, left = group(files, by="code")
    assert names(groups) == [["0.jpg", "3.jpg", "4.jpg"]]
    assert sorted(Path(item.path).name for item in left) == ["1.jpg", "2.jpg"]


def test_a_broken_picture_without_a_time_stands_where_its_name_says() -> None:
    """The file's own time may be that of a copy, long after the camera's."""
    one = qr_text(code_of("one"))
    late = replace(seen("1.jpg"), taken="", trouble="damaged: copy it anew")
    late = replace(late, mtime_ns=int((START + timedelta(days=9)).timestamp() * 1e9))
    groups, left = group([seen("0.jpg", 0, one), late, seen("2.jpg", 2)], by="code")
    assert names(groups) == [["0.jpg"]]
    assert sorted(Path(item.path).name for item in left) == ["1.jpg", "2.jpg"]


def test_broken_pictures_spoil_no_other_way_of_sorting_nor_other_folders() -> None:
    one = qr_text(code_of("one"))
    broken = replace(seen("a/1.jpg", 1), trouble="damaged: copy it anew")
    files = [seen("a/0.jpg", 0, one), broken, seen("a/2.jpg", 2), seen("b/3.jpg", 3, one)]
    for by, expected in (
        ("folder", [["0.jpg", "2.jpg"], ["3.jpg"]]),
        ("code", [["0.jpg", "3.jpg"]]),
    ):
        assert names(group(files, by=by)[0]) == expected


@given(st.permutations(range(6)))
def test_order_of_files_does_not_matter(order) -> None:
    files = [seen(f"p{n % 3}/{n}.jpg", n) for n in range(6)]
    shuffled = sorted((files[n] for n in order), key=lambda file: file.path)
    assert names(group(shuffled)[0]) == [["0.jpg", "3.jpg"], ["1.jpg", "4.jpg"], ["2.jpg", "5.jpg"]]


def test_camera_time_is_read_from_exif(tmp_path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:05:04 10:11:12"
    Image.new("RGB", (16, 16)).save(tmp_path / "a.jpg", exif=exif)
    Image.new("RGB", (16, 16)).save(tmp_path / "b.jpg")
    (tmp_path / "c.jpg").write_bytes(b"no picture")
    assert taken(tmp_path / "a.jpg") == "2026-05-04T10:11:12"
    assert taken(tmp_path / "b.jpg") == taken(tmp_path / "c.jpg") == ""


def test_files_are_found_once_and_only_photos(tmp_path) -> None:
    for name in ("a/1.JPG", "a/2.heic", "a/notes.txt", ".hidden/3.jpg", "a/.4.jpg"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"x")
    found = find_files([tmp_path, tmp_path / "a"])
    assert [file.path.name for file in found] == ["1.JPG", "2.heic"]
    assert ".jpg" in SUFFIXES


def test_unchanged_file_is_not_opened_again(file_catalogue, tmp_path, monkeypatch) -> None:
    (tmp_path / "1.jpg").write_bytes(b"x")
    first = look_at(file_catalogue, find_files([tmp_path]))
    monkeypatch.setattr("reader.catalogue.intake.files.digest", lambda _: pytest.fail("opened"))
    assert look_at(file_catalogue, find_files([tmp_path]))[0].digest == first[0].digest


def test_missing_photo(tmp_path) -> None:
    with pytest.raises(PhotoError, match="does not exist"):
        photo_ref(tmp_path / "none.jpg")


@given(st.text(), st.booleans())
def test_codes_survive_typing(seed, lower) -> None:
    code = code_of(seed)
    typed = pretty(code).replace("0", "o").replace("1", "l")
    assert tidy(typed.lower() if lower else typed) == code == tidy(qr_text(code))


def test_codes_differ() -> None:
    assert len({code_of(str(n)) for n in range(20000)}) == 20000
    assert new_code() != new_code()
    with pytest.raises(InputError, match="no part code"):
        tidy("47-507")


@pytest.mark.parametrize("spoilt", [b"", b"no picture", b"cut"])
def test_a_label_photo_that_cannot_be_opened_is_told_not_taken_for_one_without(
    file_catalogue, tmp_path, spoilt
) -> None:
    whole = BytesIO()
    Image.effect_noise((400, 300), 90).save(whole, "JPEG")
    (tmp_path / "1.jpg").write_bytes(whole.getvalue()[:3000] if spoilt == b"cut" else spoilt)
    for _ in range(2):  # nor is it remembered as one without
        (file,) = look_at(file_catalogue, find_files([tmp_path]), labels=True)
        assert file.trouble and file.label is None


def test_a_clip_shows_no_label(file_catalogue, tmp_path) -> None:
    (tmp_path / "1.mp4").write_bytes(b"\0\0\0\x20ftypisom" + bytes(80))
    (file,) = look_at(file_catalogue, find_files([tmp_path]), labels=True)
    assert (file.trouble, file.label) == ("", "")
