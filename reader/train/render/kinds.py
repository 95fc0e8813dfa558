"""What can be photographed: kinds of lettering, wear, distance."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Recipe:
    """What to photograph; lengths in pixels."""

    name: str
    kind: int  # index into render.KINDS
    part: str = "tyre"  # 'tyre', 'rim', 'none'
    hard: float = 0.6  # wear, 0 new to 2 rough
    size: tuple[int, int] = (1200, 1600)
    caps: tuple[float, float] = (22.0, 70.0)  # capital height of the main line
    whole: bool = False  # the wheel in view, text on its arc
    softness: float = 1.0
    flat: float = 0.25
    others: tuple[str, ...] = ("tyre_other", "tyre_other", "tyre_other", "decoy")


RIM_TEXTS = ("rim_other", "rim_other", "decoy")
RECIPES = {
    "decal": Recipe("decal", 2, "rim", 0.3, flat=0.6, others=RIM_TEXTS),
    "stamped": Recipe("stamped", 4, "rim", 0.3, flat=0.6, others=RIM_TEXTS),
    "engraved": Recipe("engraved", 3, "rim", 0.3, flat=0.6, others=RIM_TEXTS),
    "printed": Recipe("printed", 1, "tyre", 0.5),
    "moulded": Recipe("moulded", 0, "tyre", 0.15),
    "worn": Recipe("worn", 0, "tyre", 1.2),
    "dirty": Recipe("dirty", 0, "tyre", 1.4),
    "whole": Recipe("whole", 0, "tyre", 0.4, (3000, 4000), (16.0, 44.0), True, flat=0.0),
    "whole printed": Recipe(
        "whole printed", 1, "tyre", 0.4, (3000, 4000), (14.0, 40.0), True, flat=0.0
    ),
    "tiny": Recipe("tiny", 2, "rim", 0.3, (1500, 2000), (9.0, 16.0), flat=0.6, others=RIM_TEXTS),
    "magnifier": Recipe(
        "magnifier", 2, "rim", 0.3, (1200, 1600), (30.0, 90.0), flat=0.6, others=RIM_TEXTS
    ),
    "glare": Recipe("glare", 0, "tyre", 0.4),
    "nothing": Recipe("nothing", 0, "none", 0.6),
    "other texts": Recipe("other texts", 1, "none", 0.4, others=("decoy", "random", "tyre_other")),
    "close": Recipe("close", 0, "tyre", 0.4, (640, 860), (18.0, 44.0)),
    "close printed": Recipe("close printed", 1, "tyre", 0.5, (640, 860), (18.0, 44.0)),
}
