"""Guides: their numbers are computed, their links work, and no quantity is typed in by hand."""

import ast
import re

import pytest

import calc
from calc import tables
from calc.setup.usual import usual_set_up
from site_src import guides, settings, stories

GUIDES = guides.all_guides()


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
    assert not guides.typed_quantities(guide)


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
    assert plain(guides.assumed("joint_resistance", "span", "mohm")) == "0.05 to 0.5 mΩ"


def test_verdicts_are_told_by_order_and_by_weight():
    weak = {"current": "5 A", "size": "2.5 mm2", "length": "4 m", "chemistry": "agm", "capacity": "100 Ah"}
    verdicts = calc.run("fuse-choice", weak).verdicts
    assert guides.second("fuse-choice", **weak) == verdicts[1].text
    assert guides.gravest("fuse-choice", **weak) == next(v.text for v in verdicts if v.level == "stop")


def test_a_page_is_linked_from_the_guide_s_own_place():
    guide = guides.Guide("x", "X", "", "home", 1, (), 'See {{ page("sources", "the sources") }}.')
    assert guides.body(guide, "../../") == '<p>See <a href="../../sources/">the sources</a>.</p>\n'


def test_usual_names_what_an_unknown_of_a_set_up_stands_for():
    assert plain(guides.usual("link.connects_at")) == "13.3 V"
    assert plain(guides.usual("link.connects_at", "low")) == "13 V"
    assert plain(guides.usual("alternator.set_point", "span")) == "13.8 to 14.7 V"


STORY = re.compile(r"\{\{ story\((.*?)\) \}\}")
STORIES = {match for guide in GUIDES for match in STORY.findall(guide.text)}


def story_of(call):
    """Return the cause and the case of a story as a guide calls it."""
    read = ast.parse(f"story({call})", mode="eval").body
    return ast.literal_eval(read.args[0]), {word.arg: ast.literal_eval(word.value) for word in read.keywords}


def test_every_cause_has_its_story():
    assert {story_of(call)[0] for call in STORIES} == {row["key"] for row in tables.table("fault_causes").rows}


@pytest.mark.parametrize("call", sorted(STORIES))
def test_a_story_ends_with_its_own_cause(call):
    key, case = story_of(call)
    search = stories.told(key, **case).search
    assert search.suspects[0].key == key
    assert search.sure or not search.helps or len(search.taken) == stories.MOST_READINGS
    assert guides.cause(key) in guides.story(key, **case)
    assert all(one.shown in guides.story(key, **case) for one in search.taken)


def test_each_reading_of_a_story_is_the_one_that_the_finder_asks_for():
    search = stories.told("rear_fuse").search
    plain = [one.plain for one in search.taken]
    for n, one in enumerate(search.taken):
        asked = calc.run("fault-finder", {"readings": "; ".join(plain[:n])}, usual_set_up()).search
        assert asked.ahead[0].key == one.probing.key and not asked.sure


def test_drop_tests_are_the_table_of_limits():
    rows = tables.table("fault_limits").rows
    shown = guides.drop_tests()
    assert [plain(test["limit"]) for test in shown] == [f"{row['limit']:g} V" for row in rows]
    assert all(test["red"] and test["black"] for test in shown)


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_links_between_guides_lead_to_guides(guide):
    named = re.findall(r"\]\(\.\./([a-z-]+)/\)", guide.text)
    assert set(named) <= {other.name for other in GUIDES} - {guide.name}
    assert "](../" not in re.sub(r"\]\(\.\./[a-z-]+/\)", "", guide.text)


@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: guide.name)
def test_tables_are_narrow_enough_for_a_phone(guide):
    widths = {line.count("|") - 1 for line in guide.text.splitlines() if line.startswith("|")}
    assert max(widths, default=0) <= 3
