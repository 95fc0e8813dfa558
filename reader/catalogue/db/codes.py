"""Part codes: ten letters that a label carries, and that a person can type.

The letters are Crockford's Base 32 (https://www.crockford.com/base32.html): no I, L, O, U, so that
nothing can be mistaken; read back, I and L count as 1 and O as 0.
"""

from __future__ import annotations

import re
import secrets
from hashlib import blake2b

from reader.errors import UnknownCodeError

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
PREFIX = "TYREMARK:"  # in QR codes; upper case keeps them small
_CODE = re.compile(f"[{LETTERS}]{{10}}")
_AS_TYPED = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})


def code_of(seed: str) -> str:
    """The code that belongs to a seed text: the same seed gives the same code (50 bits).

    >>> code_of("abc") == code_of("abc"), len(code_of("abc"))
    (True, 10)
    """
    number = int.from_bytes(blake2b(seed.encode(), digest_size=8).digest()) >> 14
    return "".join(LETTERS[number >> shift & 31] for shift in range(45, -1, -5))


def new_code() -> str:
    """A code that nothing has yet, for labels printed before the part is known."""
    return code_of(secrets.token_hex(16))


def pretty(code: str) -> str:
    """As printed.

    >>> pretty("7KQ4M2XDAB")
    '7KQ4M-2XDAB'
    """
    return f"{code[:5]}-{code[5:]}"


def tidy(text: str) -> str:
    """A code as typed or scanned, brought to its ten letters.

    >>> tidy("tyremark:7kq4m-2xdab")
    '7KQ4M2XDAB'

    Raises:
        UnknownCodeError: it is none.
    """
    code = text.strip().upper().removeprefix(PREFIX).translate(_AS_TYPED)
    if not _CODE.fullmatch(code):
        raise UnknownCodeError(f"{text!r} is no part code", "a code looks like 7KQ4M-2XDAB")
    return code


def qr_text(code: str) -> str:
    """What the QR code of a part holds."""
    return PREFIX + pretty(code)
