"""A language that puts every known sentence into brackets: what escaped it stands outside."""

import re
from functools import cache

from reader import language

PLACES = re.compile(r"(%\(\w+\)[sd])")
INNERMOST = re.compile(r"⟦[^⟦⟧]*⟧")


@cache
def sentences():
    """Every sentence that translators get."""
    from reader.train.words import collected

    return frozenset(message.id for message in collected() if message.id)


def bracketed(text):
    """A sentence in brackets; what is filled in stands outside of them."""
    return PLACES.sub(r"⟧\1⟦", f"⟦{text}⟧")


class Bracketed(language.library.NullTranslations):
    """Translations of all sentences into themselves, in brackets."""

    def __init__(self):
        super().__init__()
        plain = [one for one in sentences() if isinstance(one, str)]
        self._catalog = {one: bracketed(one) for one in plain}

    def gettext(self, message):
        return self._catalog.get(message, message)

    def ngettext(self, msgid1, msgid2, n):
        told = msgid1 if n == 1 else msgid2
        return bracketed(told) if (msgid1, msgid2) in sentences() else told


def speak_brackets(monkeypatch):
    """Let every language but English be the bracketed one, for this test."""
    made = Bracketed()
    monkeypatch.setattr(language, "translations", lambda name: made)
    monkeypatch.setattr(language, "patterns", cache(language.patterns.__wrapped__))


def outside(text):
    """What stands in no bracket."""
    while INNERMOST.search(text):
        text = INNERMOST.sub(" ", text)
    return text
