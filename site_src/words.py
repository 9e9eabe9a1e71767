"""The trade's words: declared in `words.csv`, listed in one guide, and linked where a guide first uses one."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path

from markdown_it.token import Token

GUIDE = "words"
"""The guide that lists them."""

OUTSIDE = ("heading_open", "blockquote_open", "table_open")
"""Where no word is linked: a heading, a caution, a table."""


@dataclass(frozen=True)
class Word:
    """A word of the trade.

    Attributes
    ----------
    word : as it is listed
    forms : how it stands in a sentence, each to be linked; none of a word that is only looked up
    meaning : in a sentence or two
    see : name of the guide that says more, or ""
    """

    word: str
    forms: tuple[str, ...]
    meaning: str
    see: str

    @property
    def key(self) -> str:
        """Its place on the page of words."""
        return re.sub(r"[^a-z]+", "-", self.word.lower()).strip("-")


@cache
def words() -> tuple[Word, ...]:
    """Return all words, in the order of the alphabet."""
    with (Path(__file__).parent / "words.csv").open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        made = [
            Word(row["word"], tuple(filter(None, row["forms"].split("|"))), row["meaning"], row["see"]) for row in rows
        ]
    return tuple(sorted(made, key=lambda word: word.word.lower()))


def listed(titles: Mapping[str, str]) -> str:
    """Return the list of words as HTML, each with the guide that says more by its title."""
    return f"<dl>{''.join(_entry(word, titles) for word in words())}</dl>"


def _entry(word: Word, titles: Mapping[str, str]) -> str:
    """Return a word of the list."""
    more = f' See <a href="../{word.see}/">{escape(titles[word.see])}</a>.' if word.see else ""
    return f'<dt id="{word.key}"><strong>{escape(word.word)}</strong></dt><dd>{escape(word.meaning)}{more}</dd>'


@cache
def _sought() -> tuple[re.Pattern, dict[str, Word]]:
    """Return what finds any word in a text, and whose each form is."""
    forms = {form.lower(): word for word in words() for form in word.forms}
    longest_first = sorted(forms, key=len, reverse=True)
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first))})\b", re.IGNORECASE), forms


def link_first_uses(tokens: Sequence[Token], guide: str) -> None:
    """Link each word to its place where a guide's sentences first use it, unless the guide is what says more of it."""
    left = {word.key for word in words() if word.see != guide} if guide != GUIDE else set()
    depth = 0
    for token in tokens:
        if token.type.replace("_close", "_open") in OUTSIDE:
            depth += token.nesting
        elif token.type == "inline" and not depth:
            token.children = list(_linked(token.children or (), left))


def _linked(children: Sequence[Token], left: set[str]) -> Iterator[Token]:
    """Yield a sentence's tokens with links in them; a word that was linked is taken from those left."""
    inside = 0
    for token in children:
        inside += token.nesting if token.type.startswith(("link_", "strong_")) else 0
        if token.type != "text" or inside:
            yield token
        else:
            yield from _split(token.content, left)


def _split(text: str, left: set[str]) -> Iterator[Token]:
    """Yield a text as pieces, with the words that are left in it as links."""
    pattern, whose = _sought()
    done = 0
    for found in pattern.finditer(text):
        word = whose[found[0].lower()]
        if word.key in left:
            left.remove(word.key)
            yield _text(text[done : found.start()])
            yield Token("link_open", "a", 1, attrs={"href": f"../{GUIDE}/#{word.key}"})
            yield _text(found[0])
            yield Token("link_close", "a", -1)
            done = found.end()
    yield _text(text[done:])


def _text(content: str) -> Token:
    """Return a piece of text."""
    return Token("text", "", 0, content=content)
