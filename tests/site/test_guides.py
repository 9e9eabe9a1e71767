"""Guides: their numbers are computed, their links work, and no quantity is typed in by hand."""

import re

import pytest

import calc
from site_src import guides, settings

GUIDES = guides.all_guides()
QUANTITY = re.compile(
    r"(?<![\w.])\d+(?:[.,]\d+)?\s?(?:V|mV|A|mA|Ah|Wh|W|mm²|mm2|mm|m|cm|%|°C|Ω|mΩ|hours?|h|minutes?|min|days?|years?)\b"
)
SYSTEM_VOLTAGE = "12 V"
"""The kind of system, a name rather than a number that could be wrong."""


def test_at_least_four_guides():
    assert len(GUIDES) >= 4


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_guide_renders(guide):
    body = guides.body(guide, "../../")
    assert len(body) > 500
    assert guide.task in dict(settings.TASKS)
    assert set(guide.checks) <= set(calc.checks())
    assert "{{" not in body


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_every_quantity_is_computed(guide):
    """What `calc` did not compute is no number of the trade: only the expressions may hold one."""
    words = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", guide.text, flags=re.DOTALL) + guide.summary + guide.title
    typed = [found for found in QUANTITY.findall(words.replace("\u00a0", " ")) if found != SYSTEM_VOLTAGE]
    assert not typed


@pytest.mark.parametrize("check", calc.checks().values(), ids=lambda check: check.id)
def test_every_guide_that_a_check_names_is_there(check):
    assert set(check.guides) <= {guide.name for guide in GUIDES}
    assert check.guides


def test_head_that_lacks_a_line_is_refused(tmp_path):
    path = tmp_path / "x.md"
    path.write_text("title: X\n\nText", "utf-8")
    with pytest.raises(ValueError, match=r"x\.md has the head .*needs"):
        guides.read(path)


RUN = {"current": "25 A", "length": "6 m", "size": "16 mm2"}


def plain(text):
    return text.replace("\u00a0", " ")


def test_given_is_what_was_read_or_the_default():
    assert plain(guides.given("cable-drop", "length", **RUN)) == "6 m"
    assert plain(guides.given("cable-drop", "allowed_drop", **RUN)) == "3 %"
    assert plain(guides.given("cable-drop", "size", **RUN)) == "16 mm²"
    assert plain(guides.given("resting-voltage", "voltage", voltage="12.45 V")) == "12.45 V"
    assert plain(guides.given("charge-voltage", "loop_resistance", **guides.example("charge-voltage"))) == "16 mΩ"
    assert plain(guides.given("resting-voltage", "temperature", voltage="12.0 V", temperature="-5 degC")) == "−5 °C"


def test_example_is_that_of_the_check_with_changes():
    own = calc.checks()["cable-drop"].example
    assert guides.example("cable-drop") == own
    assert guides.example("cable-drop", size="6 mm2") == own | {"size": "6 mm2"}
    assert "size" not in own


def test_reason_belongs_to_the_first_verdict():
    first = calc.run("cable-drop", RUN).verdicts[0]
    assert (guides.verdict("cable-drop", **RUN), guides.reason("cable-drop", **RUN)) == (first.text, first.because)


def test_assumed_names_a_usual_value_and_its_ends():
    assert plain(guides.assumed("stop_lead_acid")) == "50 %"
    assert plain(guides.assumed("night", "low")) == "8 h"
    assert plain(guides.assumed("night", "span")) == "8 to 12 h"


def test_usual_names_what_an_unknown_of_a_set_up_stands_for():
    assert plain(guides.usual("link.connects_at")) == "13.3 V"
    assert plain(guides.usual("link.connects_at", "low")) == "13 V"
    assert plain(guides.usual("alternator.set_point", "span")) == "13.8 to 14.7 V"


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_links_between_guides_lead_to_guides(guide):
    named = re.findall(r"\]\(\.\./([a-z-]+)/\)", guide.text)
    assert set(named) <= {other.name for other in GUIDES} - {guide.name}
    assert "](../" not in re.sub(r"\]\(\.\./[a-z-]+/\)", "", guide.text)


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_tables_are_narrow_enough_for_a_phone(guide):
    widths = {line.count("|") - 1 for line in guide.text.splitlines() if line.startswith("|")}
    assert max(widths, default=0) <= 3
