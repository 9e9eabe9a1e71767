"""The two invented set-ups: whole, readable, marked as invented, and between them they show every part."""

import pytest

from calc.setup import demos
from calc.setup.file import to_file
from calc.setup.model import MODEL

every_demo = pytest.mark.parametrize("name", demos.NAMES)


@every_demo
def test_a_demo_is_marked_as_invented(name):
    assert demos.demo(name).name.endswith("(invented)")
    assert "invented" in demos.STORIES[name].lower() and demos.STORIES[name].endswith(".")
    assert set(demos.STORIES) == set(demos.NAMES)


@every_demo
def test_every_entry_of_a_demo_can_be_read_and_has_a_meaning(name):
    s = demos.demo(name)
    assert not s.problems()
    for part, several in s.entries.items():
        for number, one in enumerate(several):
            assert all(s.asked(part, number, field) for field in one)


@every_demo
def test_a_demo_has_every_part_and_leaves_something_open(name):
    s = demos.demo(name)
    assert set(s.entries) == {part.key for part in MODEL.parts}
    assert s.missing()
    assert '"?"' in demos.text(name)


@every_demo
def test_a_demo_fits_on_a_page(name):
    assert len(to_file(demos.demo(name))) < 4000


def test_between_them_they_show_every_field():
    shown = {(part, field) for name in demos.NAMES for part, _, field in demos.demo(name).places()}
    assert shown == {(part.key, field.name) for part, field in MODEL.fields()}


def test_they_differ_where_it_matters():
    island, desert = (demos.demo(name) for name in demos.NAMES)
    for place in (
        ("link", 0, "kind"),
        ("second", 0, "chemistry"),
        ("alternator", 0, "kind"),
        ("vehicle", 0, "earth_path"),
    ):
        assert island.known(*place).entry.value != desert.known(*place).entry.value
