"""The pages of set-ups are made from the declaration, and from nothing else."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest
from markupsafe import escape

import calc
from calc.check import answer
from calc.fields import Choice
from calc.setup import demos, file, link
from calc.setup.model import LONGEST_TEXT, MODEL, SetUp
from calc.setup.parts import ASKED, PARTS, choice
from site_src import builder, settings
from site_src.render import reply
from site_src.templating import rendered
from tests.calc.set_up_strategies import NEW_FIELD, NEW_USUAL, fullest, model_with_one_more_field

EVIL = '<img src=x onerror="alert(1)">'
PAGES = ("set-ups/index.html", "set-ups/edit/index.html")


@pytest.fixture(scope="module")
def pages():
    return {path: data.decode() for path, data in builder.pages().items()}


def ask(**request) -> dict:
    """Ask as a page does."""
    return json.loads(reply(json.dumps(request)))


class Controls(HTMLParser):
    """Collects the named controls of a page, also of its templates."""

    def __init__(self, text: str):
        super().__init__()
        self.found: dict[str, list[dict]] = {}
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag in ("input", "select") and "name" in given:
            self.found.setdefault(given["name"], []).append(given)


# One declaration


def test_the_form_asks_for_every_field_and_no_other(pages):
    controls = Controls(pages["set-ups/edit/index.html"]).found
    assert set(controls) == {f"{part.key}.__n__.{f.name}" for part in PARTS for f in part.fields} | {"name"}
    for part, each in MODEL.fields():
        found = controls[f"{part.key}.__n__.{each.name}"]
        if isinstance(each, Choice):
            assert [one["value"] for one in found] == [*(key for key, _ in each.options), "?"]
        else:
            assert [one["maxlength"] for one in found] == [str(LONGEST_TEXT)]


def test_every_part_is_asked_once():
    assert sorted(ASKED) == sorted(part.key for part in PARTS)


def test_form_and_reference_say_label_help_and_usual_value_of_every_field(pages):
    form, reference = pages["set-ups/edit/index.html"], pages["reference/index.html"]
    usual = builder.usual_texts(MODEL)
    for part, each in MODEL.fields():
        assert rendered_text(each.help) in form
        assert rendered_text(each.label) in form and rendered_text(each.label) in reference
        assert f"<code>{each.name}</code>" in reference
        counts_as = rendered_text(usual[f"{part.key}.{each.name}"])
        assert f"<td>{counts_as}</td>" in reference
        if MODEL.usual[f"{part.key}.{each.name}"].find:
            assert f"counts as {counts_as}" in form


def rendered_text(text: str) -> str:
    """Return a text as a page writes it."""
    return str(escape(text))


NEW_CHOICE = choice("vented", "Vented", "Is there a hose to the outside?", (("yes", "Yes"), ("no", "No")))
NEW_CHOICE_USUAL = {
    **NEW_USUAL,
    **{"key": "second.vented", "value": "no", "low": None, "high": None, "find": "Look for a hose"},
}


@pytest.mark.parametrize(
    ("field", "usual", "counts_as"),
    [(NEW_FIELD, NEW_USUAL, "12.7\u00a0V (12.2\u00a0V to 12.9\u00a0V)"), (NEW_CHOICE, NEW_CHOICE_USUAL, "No")],
    ids=["number", "choice"],
)
def test_one_more_field_is_one_more_everywhere(pages, field, usual, counts_as):
    model = model_with_one_more_field(field, usual)
    form, reference = builder.set_up_edit_page(model).decode(), builder.reference_page(model).decode()
    name = f"second.__n__.{field.name}"
    assert set(Controls(form).found) - set(Controls(pages["set-ups/edit/index.html"]).found) == {name}
    assert f"counts as {counts_as}" in form
    assert field.help in form
    assert f"<code>{field.name}</code>" in reference
    assert f"<code>{field.name}</code>" not in pages["reference/index.html"]
    there = file.schema(model)["properties"]["second"]["items"]["properties"]
    assert there[field.name]["title"] == field.label


# What lies in the site


def test_schema_and_invented_set_ups_are_in_the_site(pages):
    assert json.loads(pages["set-ups/schema.json"]) == file.schema()
    for name in demos.NAMES:
        assert file.from_file(pages[f"set-ups/{name}.json"]) == demos.demo(name)
        for path in ("index.html", "set-ups/index.html"):
            assert f"#demo={name}" in pages[path]
            assert demos.STORIES[name] in pages[path]


@pytest.mark.parametrize("path", PAGES)
def test_pages_carry_the_policy_and_no_code_of_their_own(pages, path):
    text = pages[path]
    assert f'content="{settings.PAGE_CSP}"'.replace("'", "&#39;") in text
    assert not re.search(r"<script(?![^>]*\bsrc=)|\son[a-z]+=|\sstyle=|<style|javascript:", text)
    assert "<noscript>" in text


# What the engine says to them


@pytest.mark.parametrize("one", [fullest(EVIL), SetUp(EVIL, {})], ids=["everywhere", "as a name"])
def test_nothing_typed_becomes_markup(one):
    look = ask(do="look", set_up=file.to_file(one))
    assert file.from_file(look["set_up"]) == one
    shown = "".join(look[part] for part in ("drawing", "notes", "summary", "missing"))
    shown += ask(do="compare", set_ups=[file.to_file(one), file.to_file(SetUp("", {}))])["table"]
    assert "<img" not in shown


def test_a_look_by_link_is_a_look_by_file():
    for name in demos.NAMES:
        by_file = ask(do="look", set_up=demos.text(name))
        assert ask(do="open", link=by_file["link"]) == by_file
        assert by_file["link"] == link.to_link(demos.demo(name))


def test_a_look_names_the_errors_as_the_form_names_its_controls():
    one = SetUp("", {"run": ({"length": "6 m"}, {"length": "six"})})
    assert set(ask(do="look", set_up=file.to_file(one))["errors"]) == {"run.1.length"}


@pytest.mark.parametrize("do", ["look", "compare", "write", "answer"])
def test_a_damaged_set_up_gets_a_sentence_from_whatever_is_asked(do):
    asked = {"set_up": "{", "set_ups": ["{", "{"], "part": "run", "field": "size", "text": "16 mm2"}
    assert "damaged" in ask(do=do, check="cable-drop", inputs={}, **asked)["error"]


def test_an_address_too_long_for_a_square_code_gets_a_sentence():
    assert "file" in ask(do="code", address="x" * 3000)["error"]


def test_an_incomplete_form_is_told_what_its_fields_start_from():
    van = demos.demo("island_van")
    said = ask(check="resting-voltage", inputs={"capacity": "80 Ah"}, set_up=file.to_file(van))
    assert set(said["errors"]) == {"voltage"}
    assert said["starts"]["chemistry"]["text"] == "agm"
    assert "capacity" not in said["starts"]
    whole = ask(check="resting-voltage", inputs={"capacity": "80 Ah", "voltage": "12.4 V"}, set_up=file.to_file(van))
    assert whole["starts"] == said["starts"]


def test_what_an_answer_gives_can_be_written_back():
    van = demos.demo("island_van")
    said = ask(check="cable-drop", inputs={}, set_up=file.to_file(van))
    [give] = said["gives"]
    written = file.from_file(ask(do="write", set_up=file.to_file(van), **give)["set_up"])
    assert len({one["size"] for one in written.entries["run"]}) == 1
    before = answer(calc.checks()["cable-drop"], {}, van).values["smallest_size"].value
    assert answer(calc.checks()["cable-drop"], {}, written).inputs["size"].value.area == before


def test_a_whole_run_can_be_written_back():
    van = demos.demo("island_van")
    said = ask(check="wiring-run", inputs={}, set_up=file.to_file(van))
    [give] = said["gives"]
    assert give["words"] == "Put this run into Island van (invented)"
    written = file.from_file(ask(do="write", set_up=file.to_file(van), **give)["set_up"])
    found = answer(calc.checks()["wiring-run"], {}, van)
    sizes = [one["size"].split()[0] for one in written.entries["run"]]
    first, last = (f"{found.values[key].value:g}" for key in ("size_1", "size_2"))
    assert sizes == [first, first, last]
    assert written.entries["run"][-1]["end_fuse"] == f"{found.values['fuse_2'].value:g} A"
    others = [{key: part for key, part in s.entries.items() if key != "run"} for s in (van, written)]
    assert others[0] == others[1]


def test_a_comparison_of_names_with_markup_is_text():
    assert "<b>" not in rendered("set_up_compare.html", names=["<b>", "x"], lines=[("<b>", ["<b>", "<b>"])])
