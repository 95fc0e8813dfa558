import shutil
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path

import fake_reader
import pytest
import segno
import sqlalchemy as sa
from PIL import Image, ImageFilter

from reader.catalogue.db import schema
from reader.catalogue.db.canonical import dump
from reader.catalogue.db.codes import code_of, qr_text
from reader.catalogue.db.records import Failure
from reader.catalogue.db.store import Catalogue, open_catalogue
from reader.catalogue.intake.intake import Choices, failed_photos, take_in
from reader.catalogue.intake.jobs import Outcome
from reader.catalogue.intake.workers import DIED, LocalCrew
from reader.errors import InputError


def count(catalogue: Catalogue, table: sa.Table) -> int:
    with catalogue.read() as connection:
        return int(connection.scalar(sa.select(sa.func.count()).select_from(table)) or 0)


def test_reads_each_part_once(catalogue, make_bin) -> None:
    root, crew = make_bin(5, 3), fake_reader.Here()
    tally = take_in(catalogue, [root], crew)
    assert (tally.parts, tally.photos_done, len(crew.jobs)) == (5, 15, 5)
    assert count(catalogue, schema.parts) == 5 and count(catalogue, schema.photos) == 15
    second = take_in(catalogue, [root], crew)
    assert (second.parts, second.parts_known, len(crew.jobs)) == (0, 5, 5)


def test_queue_is_bounded(file_catalogue, make_bin) -> None:
    crew = fake_reader.Here()
    take_in(file_catalogue, [make_bin(20, 1)], crew)
    assert crew.most <= 3


def test_changed_photo_is_read_again(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), fake_reader.Here()
    take_in(catalogue, [root], crew)
    (root / "part 001" / "0.jpg").write_bytes(b"another picture")
    tally = take_in(catalogue, [root], crew)
    assert (tally.parts, tally.parts_known, len(crew.jobs)) == (1, 2, 4)
    assert count(catalogue, schema.parts) == 3, "the part stays the same part"
    with catalogue.read() as connection:
        states = sa.select(schema.photos.c.state).order_by(schema.photos.c.state)
        assert list(connection.scalars(states)).count("replaced") == 1
        assert count(catalogue, schema.readings) == 4, "the old reading is kept"


def test_new_photo_joins_its_part(catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), fake_reader.Here()
    take_in(catalogue, [root], crew)
    (root / "part 000" / "later.jpg").write_bytes(b"a second look")
    take_in(catalogue, [root], crew)
    assert count(catalogue, schema.parts) == 2
    assert len(crew.jobs[-1].photos) == 2, "all photos of the part are read together"


def test_same_photo_twice_is_recognised(catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), fake_reader.Here()
    shutil.copytree(root / "part 000", root / "part 999")
    tally = take_in(catalogue, [root], crew)
    assert tally.parts == 2 and len(tally.same) == 1
    assert "part 000" in tally.same[0].reason
    later = take_in(catalogue, [root], crew)
    assert (later.parts, len(later.same)) == (0, 1)


def test_moved_folder_is_the_same_parts(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), fake_reader.Here()
    take_in(catalogue, [root], crew)
    moved = root.rename(root.with_name("bin B"))
    tally = take_in(catalogue, [moved], crew)
    assert (tally.parts, tally.parts_known, tally.same) == (0, 3, [])
    with catalogue.read() as connection:
        assert all("bin B" in path for path in connection.scalars(sa.select(schema.photos.c.path)))


def test_bad_photo_is_listed_and_stops_nothing(catalogue, make_bin) -> None:
    root, crew = make_bin(3, 2), fake_reader.Here()
    (root / "part 000" / "0.jpg").write_bytes(b"BAD")
    (root / "part 001" / "0.jpg").write_bytes(b"BAD 1")
    (root / "part 001" / "1.jpg").write_bytes(b"BAD 2")
    (root / "part 002" / "2.jpg").write_bytes(b"")
    (root / "part 002" / "3.jpg").symlink_to("nowhere")
    tally = take_in(catalogue, [root], crew)
    assert [Path(f.path).name for f in tally.failed] == ["0.jpg", "0.jpg", "1.jpg"]
    assert {left.reason for left in tally.left_out} == {
        "the file is empty: copy or take the photo again",
        "the file does not exist: check the spelling and the folder",
    }
    assert tally.parts == 3
    assert take_in(catalogue, [root], crew).parts == 0, "a bad photo is not tried again"
    assert len(failed_photos(catalogue, [root])) == 3
    (root / "part 001" / "0.jpg").write_bytes(b"good now")
    assert take_in(catalogue, [root], crew).parts == 1
    assert len(failed_photos(catalogue)) == 2


def test_missing_folder(file_catalogue, tmp_path) -> None:
    with pytest.raises(InputError, match="does not exist"):
        take_in(file_catalogue, [tmp_path / "nowhere"], fake_reader.Here())


def test_workers_and_order_do_not_matter(make_bin, tmp_path) -> None:
    root = make_bin(9, 2)
    dumps = []
    for workers in (1, 3):
        catalogue = open_catalogue(tmp_path / f"{workers}.sqlite")
        take_in(catalogue, [root], lambda workers=workers: LocalCrew(fake_reader.read, workers))
        dumps.append("\n".join(dump(catalogue)))
    catalogue = open_catalogue(tmp_path / "here.sqlite")
    take_in(catalogue, [root], fake_reader.Here())
    assert dumps[0] == dumps[1] == "\n".join(dump(catalogue))


def test_worker_that_dies_costs_one_part(file_catalogue, make_bin) -> None:
    root = make_bin(6, 1)
    (root / "part 003" / "0.jpg").write_bytes(b"KILL")
    tally = take_in(file_catalogue, [root], lambda: LocalCrew(fake_reader.read, 2))
    assert tally.parts == 6
    assert [(Path(f.path).parent.name, f.reason) for f in tally.failed] == [("part 003", str(DIED))]


def test_failed_photo_is_tried_again_when_asked(file_catalogue, make_bin, monkeypatch) -> None:
    root, crew = make_bin(3, 1), fake_reader.Here()
    right = fake_reader.read
    monkeypatch.setattr(
        fake_reader,
        "read",
        lambda job: Outcome(None, {p.digest: Failure("broken") for p in job.photos}),
    )
    assert len(take_in(file_catalogue, [root], crew).failed) == 3
    monkeypatch.setattr(fake_reader, "read", right)
    assert take_in(file_catalogue, [root], crew).parts == 0
    mended = take_in(file_catalogue, [root], crew, Choices(retry=True))
    assert (mended.parts, mended.failed) == (3, [])
    with file_catalogue.read() as connection:
        assert set(connection.scalars(sa.select(schema.parts.c.state))) == {"open"}
    assert take_in(file_catalogue, [root], crew, Choices(retry=True)).parts == 0


def test_forced_again_reads_once_more(file_catalogue, make_bin) -> None:
    root, crew = make_bin(2, 1), fake_reader.Here()
    take_in(file_catalogue, [root], crew)
    take_in(file_catalogue, [root], crew, Choices(again=True))
    assert len(crew.jobs) == 4 and count(file_catalogue, schema.parts) == 2


def test_printed_codes_in_the_pictures_make_the_parts(catalogue, tmp_path) -> None:
    """A label is shown, then the part; a label shown again later means the same part."""
    first, second = code_of("first"), code_of("second")
    start = datetime(2026, 5, 4, 10)

    def take(name: str, seconds: int, code: str | None = None) -> None:
        path = tmp_path / "card" / f"{name}.jpg"
        path.parent.mkdir(exist_ok=True)
        picture = Image.new("RGB", (640, 480), (120, 110, 100 + seconds))
        if code is not None:
            out = BytesIO()
            segno.make(qr_text(code), micro=False).save(out, kind="png", scale=6, border=4)
            picture.paste(Image.open(out).convert("RGB").rotate(7, fillcolor="white"), (150, 80))
        exif = Image.Exif()
        moment = start + timedelta(seconds=seconds)
        exif.get_ifd(0x8769)[0x9003] = moment.strftime("%Y:%m:%d %H:%M:%S")
        picture.save(path, exif=exif)

    take("9", 0)  # before any label: can't be told whose it is
    take("8", 1, first)
    take("7", 2)
    take("6", 3, second)
    take("5", 4)
    tally = take_in(catalogue, [tmp_path / "card"], fake_reader.Here(), Choices(by="code"))
    assert tally.parts == 2
    assert [Path(left.path).name for left in tally.left_out] == ["9.jpg"]
    take("4", 60, first)
    take("3", 61)
    crew = fake_reader.Here()
    again = take_in(catalogue, [tmp_path / "card"], crew, Choices(by="code"))
    assert (again.parts, again.parts_known) == (1, 1)
    assert sorted(photo.name for photo in crew.jobs[0].photos) == [f"{n}.jpg" for n in (3, 4, 7, 8)]
    with catalogue.read() as connection:
        query = sa.select(schema.parts.c.code, schema.parts.c.arrived)
        assert {tuple(row) for row in connection.execute(query)} == {
            (first, "2026-05-04"),
            (second, "2026-05-04"),
        }


@pytest.mark.parametrize("fault", ["cut short", "blurred"])
def test_photos_after_a_label_that_cannot_be_read_are_no_part_s(catalogue, tmp_path, fault) -> None:
    """One label photo is no use: what follows it must not become photos of the part before."""
    for name, code in (("1", code_of("first")), ("2", None), ("3", code_of("second")), ("4", None)):
        picture = Image.new("RGB", (640, 480), (120, 110, 100 + int(name)))
        if code is not None:
            out = BytesIO()
            segno.make(qr_text(code), micro=False).save(out, kind="png", scale=6, border=4)
            picture.paste(Image.open(out).convert("RGB"), (150, 80))
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = f"2026:05:04 10:00:0{name}"
        picture.save(tmp_path / f"{name}.jpg", exif=exif)
    label = tmp_path / "3.jpg"
    whole = label.read_bytes()
    if fault == "blurred":
        with Image.open(label) as sharp:
            sharp.filter(ImageFilter.GaussianBlur(8)).save(label, exif=sharp.getexif())
    else:
        label.write_bytes(whole[: len(whole) // 2])
    crew = fake_reader.Here()
    tally = take_in(catalogue, [tmp_path], crew, Choices(by="code"))
    assert [[photo.name for photo in job.photos] for job in crew.jobs] == [["1.jpg", "2.jpg"]]
    assert sorted(Path(left.path).name for left in tally.left_out) == ["3.jpg", "4.jpg"]
    label.write_bytes(whole)
    again = take_in(catalogue, [tmp_path], crew, Choices(by="code"))
    assert (again.parts, again.parts_known, again.left_out) == (1, 1, [])


def test_folder_name_used_again_for_another_part(catalogue, tmp_path) -> None:
    """Camera cards use their names again; days later the same name is another part."""

    def take(moment: str, shade: int) -> None:
        path = tmp_path / "card" / "part 1" / "IMG_1.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = moment
        Image.new("RGB", (16, 16), (shade, 0, 0)).save(path, exif=exif)

    take("2026:05:04 10:00:00", 1)
    take_in(catalogue, [tmp_path / "card"], fake_reader.Here())
    take("2026:05:04 10:05:00", 2)
    take_in(catalogue, [tmp_path / "card"], fake_reader.Here())
    assert count(catalogue, schema.parts) == 1, "taken again at once: the same part"
    take("2026:05:09 10:00:00", 3)
    take_in(catalogue, [tmp_path / "card"], fake_reader.Here())
    assert count(catalogue, schema.parts) == 2
