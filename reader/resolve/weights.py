"""How much each piece of evidence weighs: the numbers of the resolver, fitted where they can be.

`reader/data/resolver.json`, written by `reader.train.calibrate.weigh`, holds the fitted ones; its
card says on what, and what the fit gained over the judgement that stands here as defaults. All are
natural logarithms unless told otherwise.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path

from reader.errors import InputError
from reader.markings import BY_NAME

FILE = Path(__file__).parents[1] / "data" / "resolver.json"
FORMAT = 1


@dataclass(frozen=True)
class Weights:
    """One number a field; the comment says what it does, the value is judgement until fitted."""

    any_size: float = -1.0  # before anything is weighed, that the letters are a size at all
    reserve: float = -3.5  # share of sizes that nothing read speaks of: a rare one alone stays rare
    moulded: float = 11.0  # worth of a clean pair, by engine
    scene: float = 10.5
    tesseract: float = 7.0
    other_engine: float = 8.0
    inch: float = 1.0  # added to what the notation's record says of a text's chance to turn up
    french: float = 0.5
    rim: float = 0.0
    tube: float = 0.0
    short: float = 1.0  # of a name's worth for each sign beyond six, off for each fewer
    steep: float = 3.0  # fall of the worth per cost, up to the knee and beyond it
    knee: float = 1.5  # cost
    flat: float = 1.2
    score: float = 0.5  # cost per natural log of the engine's own doubt in a strip
    completed: float = 1.0  # cost of each letter of a marking that nobody read
    lone: float = 0.0  # cost of a place that one look alone shows
    second_engine: float = 0.4  # share that a second engine adds to the first
    again_same_photo: float = 0.25  # share of a text that was read before
    again_other_photo: float = 0.6
    other_width: float = -8.1  # a pair with this diameter but another width, each: misprinted
    backed: float = 8.0  # ratio from which a pair counts as read, and holds names back
    name_apart: float = 4.0  # by which a name speaks against a pair at most
    name_width: float = -3.9  # an inch or French name whose width is far off
    width_scale: float = 4.0  # mm: inch and French names round the width
    decoy: float = 5.0  # cost: the same letters are cleanly something else, e.g. a pressure
    bare_name: float = 2.0  # cost of '700C' where the letter may as well be a figure
    beside_pressure: float = 2.0  # cost of a name in a line that speaks of pressure
    prior_power: float = 0.5  # how common a size is bends the belief, never outweighs a clear pair
    width_power: float = 0.4  # weaker still for widths, of which makers mould every one

    def trust(self, engine: str) -> float:
        """Worth of a clean pair read by an engine."""
        known = {"moulded": self.moulded, "scene": self.scene, "tesseract": self.tesseract}
        return known.get(engine, self.other_engine)

    def chance(self, notation: str) -> float:
        """What a notation's texts are worth beside a pair."""
        known = {"french": self.french, "rim": self.rim, "tube": self.tube}
        more = self.inch if notation.startswith("inch") else known.get(notation, 0.0)
        return BY_NAME[notation].chance + more


JUDGED = Weights()


@lru_cache(maxsize=4)
def load_weights(path: Path = FILE) -> Weights:
    """The fitted weights, or the judged ones where there is no file.

    Raises:
        InputError: the file is there, but not in this format.
    """
    if not path.exists():
        return JUDGED
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["format"] != FORMAT:
            raise ValueError(f"format {data['format']} is not {FORMAT}")
        known = {field.name for field in fields(Weights)}
        values = {name: float(value) for name, value in data["weights"].items()}
        if not values.keys() <= known:
            raise ValueError(f"unknown weight {sorted(values.keys() - known)[0]}")
        return replace(JUDGED, **values)
    except (OSError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"can't use the weights {path} ({error})", "put back the shipped file"
        ) from error
