"""Who may do what: a reader looks, a helper adds, a keeper changes, takes away and takes out.

Each role has a pairing code of its own. What a request needs is told by its method and path: to
look needs a reader, everything else a keeper, but for what stands in the two lists here. So a
route that nobody thought of is shut, not open.
"""

from __future__ import annotations

import hmac
import re
from enum import IntEnum
from typing import TYPE_CHECKING

from starlette.requests import Request

from reader.language import N_
from reader.web.refusals import Refusal

if TYPE_CHECKING:
    from reader.web.settings import PageSettings

SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


class Role(IntEnum):
    """What a visitor may do; each may do what the ones before may."""

    READER = 1
    HELPER = 2
    KEEPER = 3

    @property
    def word(self) -> str:
        """Its name, in English."""
        return WORDS[self]

    @property
    def may(self) -> str:
        """What it is allowed, in English."""
        return MAY[self]


WORDS = {Role.READER: N_("reader"), Role.HELPER: N_("helper"), Role.KEEPER: N_("keeper")}
MAY = {
    Role.READER: N_("may look: sizes, fits, bins, tally"),
    Role.HELPER: N_("may also add photos, parts and pieces"),
    Role.KEEPER: N_("may also correct, move, take away and take lists out"),
}

ANY = "[^/]+"
ADDS = (  # what a helper may send
    "/snap",
    f"/live/{ANY}(/end)?",
    f"/outbox/{ANY}(/{ANY})?",
    f"/part/{ANY}/(more|again|choose|store)",
    f"/bins/{ANY}/more",
    "/labels",
    "/api/parts",
    f"/api/parts/{ANY}/(size|place)",
    "/api/catalogue",
)
OWN = ("/pair", "/me")  # what concerns the visitor alone
TAKES_OUT = ("/tally.csv",)  # lists that leave the house


def needed(method: str, path: str) -> Role:
    """The least role that may ask this.

    >>> needed("GET", "/bins"), needed("POST", "/snap"), needed("PATCH", "/api/catalogue/X")
    (<Role.READER: 1>, <Role.HELPER: 2>, <Role.KEEPER: 3>)
    """
    if method in SAFE_METHODS:
        return Role.KEEPER if path in TAKES_OUT else Role.READER
    if method == "POST" and path in OWN:
        return Role.READER
    adds = method == "POST" and any(re.fullmatch(one, path) for one in ADDS)
    return Role.HELPER if adds else Role.KEEPER


def codes(settings: PageSettings) -> dict[Role, str]:
    """The pairing code of each role."""
    return {
        Role.KEEPER: settings.code,
        Role.HELPER: settings.helper_code,
        Role.READER: settings.reader_code,
    }


def role_of(given: str, settings: PageSettings) -> Role | None:
    """Whose code it is; spaces, dashes and case don't count."""
    found = [role for role, code in codes(settings).items() if same_code(given, code)]
    return max(found, default=None)


def same_code(given: str, code: str) -> bool:
    """Whether a code is this one."""
    plain = given.replace(" ", "").replace("-", "").upper()
    return hmac.compare_digest(plain.encode(), code.replace("-", "").upper().encode())


def known_role(number: object) -> Role | None:
    """The role that a session keeps; None for one that says none."""
    return Role(number) if isinstance(number, int) and number in set(Role) else None


def may(request: Request, role: Role) -> bool:
    """Whether the visitor has at least this role."""
    return bool(getattr(request.state, "role", Role.READER) >= role)


def demand(request: Request, role: Role) -> None:
    """Refuse what the visitor has no right to.

    Raises:
        Refusal: the role is too low.
    """
    if not may(request, role):
        raise too_little(role)


def too_little(role: Role) -> Refusal:
    """What somebody is told whose role is too low."""
    who = {Role.HELPER: "helpers and keepers", Role.KEEPER: "keepers"}[role]
    return Refusal(403, f"only {who} may do that", "ask for another code, and pair again with it")
