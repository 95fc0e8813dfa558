"""Sentences in five languages: none untranslated, none without its places, none escaped."""

import re
from html.parser import HTMLParser

import pytest
from babel.messages.pofile import read_po

from reader import language
from reader.language import FOLDER, LANGUAGES, gettext, ngettext, number, said, use

OTHERS = [name for name in LANGUAGES if name != "en"]
PLACE = re.compile(r"%\(\w+\)[sd]")


@pytest.fixture(scope="module")
def template():
    from reader.train.words import collected

    return {message.id for message in collected() if message.id}


def catalogue(name):
    with (FOLDER / f"{name}.po").open("rb") as file:
        return [message for message in read_po(file, locale=name) if message.id]


@pytest.mark.parametrize("name", OTHERS)
def test_every_sentence_is_translated_and_none_is_left_over(name, template):
    held = {message.id: message.string for message in catalogue(name)}
    assert set(held) == template
    full = {key: all(text) if isinstance(key, tuple) else bool(text) for key, text in held.items()}
    empty = [key for key, is_full in full.items() if not is_full]
    assert empty == []


@pytest.mark.parametrize("name", OTHERS)
def test_no_translation_lost_what_is_filled_in(name):
    for message in catalogue(name):
        ids = message.id if isinstance(message.id, tuple) else (message.id,)
        strings = message.string if isinstance(message.id, tuple) else (message.string,)
        for text in strings:
            assert sorted(PLACE.findall(text)) == sorted(PLACE.findall(ids[-1])), message.id


def test_a_sentence_made_below_keeps_its_numbers():
    text = "the bead seat diameters differ: tyre 590 mm, rim 597 mm; there is no near fit"
    with use("de"):
        told = said(text)
        assert "590 mm" in told and "597 mm" in told and "Felge" in told
        assert said("nobody knows this one") == "nobody knows this one"
    assert said(text) == text


def test_counts_and_decimals_follow_the_language():
    assert ngettext("%(num)d piece", "%(num)d pieces", 1) == "%(num)d piece"
    with use("de"):
        assert number(37.5, 1) == "37,5" and gettext("Tyre") == "Reifen"
        with use("klingon"):
            assert language.language() == "en"
        assert gettext("Rim") == "Felge"
    assert number(37.5, 1) == "37.5"


class Words(HTMLParser):
    """Text and labels of a page that are not data: outside of `bdi`, `code` and foreign `lang`."""

    QUIET = ("script", "style", "bdi", "code", "title", "template")

    def __init__(self):
        super().__init__()
        self.found, self._quiet = [], []

    def handle_starttag(self, tag, attrs):
        known = dict(attrs)
        if tag in self.QUIET or ("lang" in known and tag != "html"):
            self._quiet.append(tag)
        if not self._quiet:
            labels = ("aria-label", "alt", "placeholder", "title")
            self.found += [known[name] for name in labels if known.get(name)]

    def handle_endtag(self, tag):
        if self._quiet and self._quiet[-1] == tag:
            self._quiet.pop()

    def handle_data(self, data):
        if not self._quiet and data.strip():
            self.found.append(data.strip())


class Marked(language.library.NullTranslations):
    """A language in which every sentence that went through gettext stands in brackets."""

    def gettext(self, message):
        return f"⟦{message}⟧"

    def ngettext(self, msgid1, msgid2, n):
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


PLAIN = re.compile(r"[A-Za-zÀ-ÿ]{3,}")
DATA = re.compile(r"tyremark|psi|kPa|bar\b|Rack|E\.A\.\d|ETRTO|ISO|TSS|from|DejaVu|pair_of")


@pytest.mark.parametrize(
    "path", ["/", "/fit", "/bins", "/review", "/names?find=zzz", "/pairs", "/tally", "/wheel",
             "/labels", "/let-in", "/offline", "/live", "/pair", "/nowhere"],
)  # fmt: skip
def test_no_sentence_of_a_page_escapes_translation(monkeypatch, tmp_path, path):
    from starlette.testclient import TestClient

    from reader.web.app import build
    from reader.web.settings import PageSettings

    monkeypatch.setattr(language, "translations", lambda name: Marked())
    settings = PageSettings(
        str(tmp_path / "c.db"), tmp_path / "p", tmp_path / "b", hosts=("testserver",), workers=0
    )
    with TestClient(build(settings)) as visitor:
        reader = Words()
        reader.feed(visitor.get(path, headers={"accept-language": "de"}).text)
    loose = [re.sub(r"⟦[^⟧]*⟧", "", text) for text in reader.found]
    names = set(LANGUAGES.values())
    escaped = [text for text in loose if PLAIN.search(text) and text not in names]
    assert [text for text in escaped if not DATA.search(text)] == []
