"""Pictures without a size: how often one is told all the same.

    python -m reader.train.bench.clutter FOLDER ... --most 300 --kept carry/clutter.bin

reads pictures of the folders (charts, screens, photographs from packages with free licences), at
most so many, spread evenly over each folder, and keeps what was read; a run cut short goes on
where it stopped. Then it weighs all that is kept and writes clutter.md beside this file.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from reader.errors import PhotoError
from reader.photo.formats import SUFFIXES
from reader.records import Marking, Verdict
from reader.resolve.resolve import resolve
from reader.tables import load_tables
from reader.train.calibrate.collect import append, load
from reader.train.calibrate.evidence import thin

CARD = Path(__file__).with_suffix(".md")
LEAST_BYTES = 8_000  # smaller files are icons
LEAST_SIDE = 120  # pixels
Kept = tuple[str, str, tuple[Marking, ...]]  # source, name, markings


def pictures(folders: Sequence[Path], most: int) -> list[Path]:
    """At most `most` pictures, the same share of each folder, spread evenly."""
    found = [
        sorted(
            file
            for file in folder.rglob("*")
            if file.suffix.lower() in SUFFIXES and file.stat().st_size >= LEAST_BYTES
        )
        for folder in folders
    ]
    total = max(1, sum(map(len, found)))
    chosen: list[Path] = []
    for files in found:
        count = min(len(files), max(1, round(most * len(files) / total)))
        chosen += [files[k * len(files) // count] for k in range(count)] if files else []
    return chosen


def read_more(kept: Path, files: Sequence[Path], seconds: float) -> Iterator[str]:
    """Read what is not kept yet, for so long; a line of progress a picture."""
    from reader.photo.load import load as load_photo
    from reader.pipeline import read

    had = {name for _, name, _ in load(kept)}
    until = time.monotonic() + seconds
    for file in files:
        if str(file) in had:
            continue
        if time.monotonic() > until:
            return
        try:
            photo = load_photo(file, file.name)
            wanted = min(photo.shape) >= LEAST_SIDE
            markings = thin(read([photo]).markings) if wanted else None
        except PhotoError as error:
            yield f"{file.name}: {error}"
            continue
        if markings is not None:
            append(kept, [(file.parent.name, str(file), markings)])
        yield f"{file.name}"


def to_fit(kept: Sequence[Kept]) -> list[Kept]:
    """Every third picture: the resolver's weights are fitted on them, the table leaves them out."""
    return list(kept[::3])


def apart(kept: Sequence[Kept]) -> list[Kept]:
    """The pictures that nothing was fitted on."""
    return [one for k, one in enumerate(kept) if k % 3]


def table(kept: Sequence[Kept]) -> str:
    """The report: how many were told, by verdict, and which."""
    tables = load_tables()
    counts: Counter[Verdict] = Counter()
    told = []
    for source, name, markings in kept:
        reading = resolve(markings, "unknown", tables)
        verdict = reading.diameter.verdict if reading.diameter.value else reading.verdict
        counts[verdict] += 1
        if reading.diameter.told:
            share = f"{reading.diameter.probability:.2f}"
            told.append(
                f"| {source}/{Path(name).name} | {reading.told_size} | {verdict} | {share} |"
            )
    rows = "\n".join(f"| {verdict} | {counts[verdict]} |" for verdict in Verdict)
    sources = "\n".join(
        f"| {source} | {count} |" for source, count in Counter(s for s, _, _ in kept).most_common()
    )
    return f"""# Pictures without a size
`python -m reader.train.bench.clutter` on {len(kept)} pictures of packages with free licences:
charts, screens, drawings, photographs; every third that was read is left out, as the resolver's
weights were fitted on it. None shows a size of a bicycle part.

| verdict on the diameter | pictures |
|---|---|
{rows}

Told although nothing is there:

| picture | size | verdict | probability |
|---|---|---|---|
{chr(10).join(told) or "| none | | | |"}

| from | pictures |
|---|---|
{sources}
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Read, weigh and write."""
    parser = argparse.ArgumentParser(
        prog="python -m reader.train.bench.clutter", description=__doc__
    )
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--most", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=1e9, help="time after which to pause")
    parser.add_argument("--kept", type=Path, default=Path("carry/clutter.bin"))
    parser.add_argument("--out", type=Path, default=CARD)
    chosen = parser.parse_args(arguments)
    for line in read_more(chosen.kept, pictures(chosen.folders, chosen.most), chosen.seconds):
        print(line, flush=True)
    kept = apart(load(chosen.kept))
    chosen.out.write_text(table(kept), encoding="utf-8")
    print(f"wrote {chosen.out}: {len(kept)} pictures")


if __name__ == "__main__":
    main()
