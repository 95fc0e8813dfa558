"""What a notation is: one frozen record a module, from which every list of notations derives."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto

from reader.markings.scan import Search, scan
from reader.records import Marking

Numbers = Mapping[str, float | str]


class Kind(Enum):
    """What a text in this notation is."""

    SIZE = auto()  # of a tyre or a rim
    TUBE = auto()  # what sizes a tube takes
    FACT = auto()  # something else that the part says of itself
    OTHER = auto()  # a part that is no bicycle's, or has no bead seat
    DECOY = auto()  # numbers that say nothing of a bicycle part, and are no size


class Tells(Enum):
    """What it says of the size."""

    PAIR = auto()  # width and bead seat diameter, in millimetres
    NAME = auto()  # a name, which tables must explain
    WIDTH = auto()  # a width alone, and no diameter
    NOTHING = auto()


@dataclass(frozen=True)
class PairAsked:
    """Width and bead seat diameter in mm; `edge` as on a rim, `marked` in the rim's own writing."""

    width: float
    bsd: int
    edge: str = ""
    marked: bool = False


@dataclass(frozen=True)
class SeatsAsked:
    """The bead seat diameters in mm that a tube's label lists; 0 for none."""

    first: int
    second: int = 0


@dataclass(frozen=True)
class FrenchAsked:
    """Outer diameter and width in mm, 0 for none, and the letter, '' for none."""

    diameter: int
    width: float
    letter: str


@dataclass(frozen=True)
class InchAsked:
    """Inches as printed, 0 for none, and a trade code; `table` names the rows that may hold it."""

    table: str
    diameter: float
    width: float
    height: float
    code: str
    decimal: bool  # a decimal width belongs to the family of its diameter


Asked = PairAsked | SeatsAsked | FrenchAsked | InchAsked
"""What the tables of names are asked for a marking."""


def ask_inches(table: str, numbers: Numbers, decimal: bool = False) -> InchAsked:
    """What all inch notations ask."""
    get = numbers.get
    return InchAsked(
        table,
        float(get("diameter_in", 0)),
        float(get("width_in", 0)),
        float(get("height_in", 0)),
        str(get("code", "")),
        decimal,
    )


def _never(before: str, text: str, after: str) -> bool:
    return False


@dataclass(frozen=True)
class Notation:
    """One way in which makers write something on a part.

    `clean` and `damaged` search a folded line (see `letters.fold`); `spellings` gives every text
    that the automaton scores, with its numbers; `asks` says what to look its numbers up as in the
    tables of names, and only what tells a size has it. `doubtful` looks at a spelling among the
    letters of an engine: the letter that touches its first, the spelling, and the letters after it.
    """

    name: str  # the module's name, and `Marking.notation`
    kind: Kind
    tells: Tells
    label: str  # as a reason for a size: 'ISO pair read'
    title: str  # over a marking, for people
    clean: Search
    damaged: Search | None = None
    spellings: Callable[[], Iterator[tuple[str, Numbers]]] | None = None
    asks: Callable[[Numbers], Asked] | None = None
    doubtful: Callable[[str, str, str], bool] = _never
    chance: float = 0.0  # natural log: short texts turn up by chance more often than a pair
    tyre_text: float = 0.0  # natural log: how much more often it stands on tyres than on rims
    rim_text: float = 0.0  # and on rims than on tyres

    @property
    def is_size(self) -> bool:
        """Whether it says which size the part has or takes."""
        return self.kind in (Kind.SIZE, Kind.TUBE)

    def find(self, text: str) -> Iterator[Marking]:
        """Every place of a text that can be read so, clean or damaged."""
        damaged = () if self.damaged is None else (self.damaged,)
        if self.is_size:
            yield from scan(text, (), (self.clean,), damaged)
        else:
            yield from scan(text, (self.clean,), ())
