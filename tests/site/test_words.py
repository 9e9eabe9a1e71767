"""The trade's words: each with a meaning, findable, and linked where a guide first uses one."""

import re

import pytest
from markdown_it import MarkdownIt

from site_src import guides, words
from site_src.guides import QUANTITY, SYSTEM_VOLTAGE

GUIDES = {guide.name: guide for guide in guides.all_guides()}
MOST_LINKS = 10
"""In a guide: more would be in the way of reading."""


def linked(text, guide="sun"):
    """Return Markdown as HTML, with its words linked."""
    reader = MarkdownIt("commonmark").enable("table")
    tokens = reader.parse(text)
    words.link_first_uses(tokens, guide)
    return reader.renderer.render(tokens, reader.options, {})


def test_words_are_in_order_and_once():
    listed = [word.word.lower() for word in words.words()]
    assert listed == sorted(set(listed))
    keys = [word.key for word in words.words()]
    forms = [form.lower() for word in words.words() for form in word.forms]
    assert len(set(keys)) == len(keys) and all(keys)
    assert len(set(forms)) == len(forms)


@pytest.mark.parametrize("word", words.words(), ids=lambda word: word.key)
def test_a_word_has_a_meaning_and_a_guide_that_is_there(word):
    assert len(word.meaning) > 25 and word.meaning.endswith(".")
    assert not word.see or word.see in GUIDES
    assert [found for found in QUANTITY.findall(word.meaning) if found != SYSTEM_VOLTAGE] == []


def test_the_list_has_every_word_with_its_place():
    listed = words.listed({guide.name: guide.title for guide in GUIDES.values()})
    assert all(f'<dt id="{word.key}">' in listed for word in words.words())
    assert listed in guides.body(GUIDES[words.GUIDE], "../../")


def test_the_first_use_is_linked_and_no_other():
    assert linked("A lug, then a lug.") == '<p>A <a href="../words/#lug">lug</a>, then a lug.</p>\n'


def test_a_longer_word_goes_before_a_shorter_one():
    assert "#smart-alternator" in linked("Smart alternators and more.")


@pytest.mark.parametrize(
    "text", ["# Lug", "> A lug.", "| lug |\n| --- |\n| lug |", "[a lug](x)", "**lug**", "plug, lugged", "`lug`"]
)
def test_what_is_no_sentence_is_left_alone(text):
    assert words.GUIDE not in linked(text)


def test_a_guide_that_says_more_of_a_word_is_not_led_away():
    assert "#crimp" not in linked("A crimp.", "joints-and-earths")
    assert "#crimp" in linked("A crimp.", "sun")


@pytest.mark.parametrize("guide", GUIDES.values(), ids=lambda guide: guide.name)
def test_links_of_a_guide_lead_to_words_and_are_few(guide):
    found = re.findall(r'href="\.\./words/#([^"]*)"', guides.body(guide, "../../"))
    assert set(found) <= {word.key for word in words.words()}
    assert len(found) == len(set(found)) <= MOST_LINKS
    assert not found or guide.name != words.GUIDE


@pytest.mark.parametrize("guide", GUIDES.values(), ids=lambda guide: guide.name)
def test_links_that_read_alike_lead_to_one_place(guide):
    """Who hears only the links of a page, one after another, has nothing else to tell them apart by."""
    leads = {}
    for address, text in re.findall(r'<a href="([^"]*)">([^<]*)</a>', guides.body(guide, "../../")):
        assert leads.setdefault(text.strip().lower(), address) == address, text
