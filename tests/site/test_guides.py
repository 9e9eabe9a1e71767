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
