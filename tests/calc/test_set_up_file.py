"""The set-up's file: any set-up survives it, its schema says the same as its reader, and damage gets a sentence."""

import json
from importlib import resources

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from calc.setup import demos
from calc.setup.file import FORMAT, LARGEST, VERSION, from_file, schema, to_file
from calc.setup.model import MODEL, SetUp, SetUpError, take_in
from tests.calc.set_up_strategies import fullest, mappings, model_with_one_more_field, set_ups
from tests.calc.test_set_up_model import HOSTILE, sentence

VALIDATOR = Draft202012Validator(schema())
HEAD = {"format": FORMAT, "version": VERSION}
EMPTY = SetUp("", {})


def refused(text, model=MODEL):
    """Return the sentence with which a file is refused."""
    with pytest.raises(SetUpError) as problem:
        from_file(text, model)
    return sentence(problem)


def as_file(data) -> str:
    return json.dumps({**HEAD, **data})


# Round trips


@given(set_ups())
@example(EMPTY)
@example(fullest('"'))
@example(fullest("\U0001f50b" * 60))
def test_any_set_up_survives_a_file(s):
    text = to_file(s)
    assert from_file(text) == s
    assert to_file(from_file(text)) == text
    assert not list(VALIDATOR.iter_errors(json.loads(text)))


@pytest.mark.parametrize("sign", ["x", '"', "\\", "é", "🔋"])
def test_the_fullest_set_up_is_not_too_large(sign):
    assert len(to_file(fullest(sign * 60))) < LARGEST


@pytest.mark.parametrize("name", demos.NAMES)
def test_a_file_reads_the_same_however_it_is_laid_out(name):
    text = demos.text(name)
    s = from_file(text)
    data = json.loads(text)
    backwards = dict(reversed(data.items()))
    for other in (json.dumps(data), json.dumps(backwards, indent=8), "\ufeff" + text, text.replace("\n", "\r\n")):
        assert from_file(other) == s


def test_a_file_says_what_it_is_first():
    text = to_file(EMPTY)
    assert json.loads(text) == {"format": "second-battery-set-up", "version": 1, "name": ""}
    assert text.startswith('{\n "format": "second-battery-set-up",\n "version": 1,\n') and text.endswith("}\n")


def test_brackets_within_an_entry_are_text():
    s = take_in({"load": [{"name": "[[[[{{{{"}, {"name": '[\\"[[[[{'}]})
    assert from_file(to_file(s)) == s


def test_a_part_with_nothing_entered_is_the_same_as_none():
    assert from_file(as_file({"vehicle": {}, "load": [], "mains": {"fitted": ""}})) == EMPTY
    assert from_file(as_file({"load": [{}]})).count("load") == 1


# The schema


def test_the_schema_is_one_and_stands_on_the_declaration():
    Draft202012Validator.check_schema(schema())
    assert set(schema()["properties"]) == {"format", "version", "name", *(part.key for part in MODEL.parts)}
    for part in MODEL.parts:
        own = schema()["properties"][part.key]
        one = own["items"] if part.many > 1 else own
        assert set(one["properties"]) == {f.name for f in part.fields}
        for field in part.fields:
            said = one["properties"][field.name]
            assert said["title"] == field.label and field.takes in said["description"]
            assert said["examples"][-1] == "?"
            for text in said["examples"]:
                field.read(text, {})


@pytest.mark.parametrize("name", demos.NAMES)
def test_the_demos_follow_the_schema(name):
    VALIDATOR.validate(json.loads(demos.text(name)))


def agree(data) -> None:
    """Check that what the schema refuses is refused, and that what is taken in, the schema takes."""
    allowed = VALIDATOR.is_valid(data)
    try:
        from_file(json.dumps(data))
    except SetUpError as problem:
        sentence(problem)
        taken = False
    else:
        taken = True
    assert allowed or not taken


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=70),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=20), inner, max_size=4),
    max_leaves=8,
)


@given(mappings(), st.data())
def test_what_the_schema_refuses_is_refused(data, draw):
    data = {**HEAD, **data}
    agree(data)
    inside = draw.draw(st.sampled_from([data, *(v for v in data.values() if isinstance(v, dict))]))
    keys = st.sampled_from(["format", "version", "name", "load", "mains", "current", "fitted", "wheels", ""])
    inside[draw.draw(keys)] = draw.draw(JSON_VALUES)
    agree(data)


@pytest.mark.parametrize("data", [data for data in HOSTILE if isinstance(data, dict)])
def test_hostile_content_is_refused_by_both_where_the_schema_can(data):
    agree({**HEAD, **data})
    refused(as_file(data))


# Damage


@pytest.mark.parametrize("name", demos.NAMES)
def test_a_file_cut_short_is_damaged(name):
    text = demos.text(name).rstrip()
    for length in range(len(text)):
        assert "damaged" in refused(text[:length])


@pytest.mark.parametrize("sign", ['"', "\\", "{", "}", "[", "]", ",", ":", "\x00", "\ud800", "7", "x", "é", "\n", ""])
def test_a_changed_character_gives_a_set_up_or_a_sentence(sign):
    text = demos.text("island_van")
    for place in range(len(text)):
        look_at(text[:place] + sign + text[place + 1 :])


def look_at(text) -> None:
    """Read a file of whatever content: a set-up that can be looked at, or one sentence."""
    try:
        s = from_file(text)
    except SetUpError as problem:
        sentence(problem)
    else:
        assert from_file(to_file(s)) == s


@given(st.text(max_size=300) | JSON_VALUES.map(json.dumps))
def test_any_text_gives_a_set_up_or_a_sentence(text):
    look_at(text)


@given(st.data())
def test_flipped_bytes_give_a_set_up_or_a_sentence(data):
    content = bytearray(demos.text(data.draw(st.sampled_from(demos.NAMES))).encode())
    for _ in range(data.draw(st.integers(1, 5))):
        content[data.draw(st.integers(0, len(content) - 1))] ^= data.draw(st.integers(1, 255))
    look_at(content.decode("utf-8", "surrogateescape"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "damaged"),
        ("{", "damaged"),
        ("null", "not a set-up"),
        ("[]", "not a set-up"),
        ("{}", "not a set-up"),
        ("5", "not a set-up"),
        ('"second-battery-set-up"', "not a set-up"),
        ('{"format": "something else", "version": 1}', "not a set-up"),
        ('{"format": ["second-battery-set-up"], "version": 1}', "not a set-up"),
        ("<html></html>", "damaged"),
        ("[" * 60_000, "damaged"),
        ('{"a":' * 12_000, "damaged"),
        ("[" * 30_000 + "]" * 30_000, "damaged"),
        ("[[[[]]]]", "damaged"),
        ("9" * 60_000, "damaged"),
        ("-" + "9" * 4000, "not a set-up"),
        ("1e999999", "not a set-up"),
        ("NaN", "not a set-up"),
        (" " * (LARGEST + 1), "too large"),
        (to_file(EMPTY) + " " * 100_000, "too large"),
        (as_file({"name": "x" * 100_000}), "too large"),
        (to_file(EMPTY).replace('"name"', '"version": 1, "name"'), "damaged"),
        (as_file({"load": []})[:-1] + ', "load": [{"current": "5 A"}]}', "damaged"),
        ('{"format": "second-battery-set-up", "version": 1, "mains": {"fitted": "yes", "fitted": "no"}}', "damaged"),
        (as_file({"vehicle": [{"ambient": "5"}]}), "one group of fields"),
        (as_file({"second": {"capacity": "5"}}), "a list, one for each"),
        (as_file({"mains": None}), "group of fields"),
        (as_file({"mains": {"rating": 5}}), "plain text"),
        (as_file({"mains": {"__proto__": "5"}}), "__proto__"),
        (as_file({"__proto__": {"rating": "5"}}), "__proto__"),
        (as_file({"name": "\ud800"}), "plain text"),
        (as_file({"sun": [{}] * 5}), "at most 4"),
    ],
    ids=range(32),
)
def test_what_is_no_set_up_is_refused_in_a_sentence(text, said):
    assert said in refused(text)


@pytest.mark.parametrize("version", [2, 3, 10**9, 10**4000])
def test_a_newer_version_asks_for_the_newer_edition(version):
    assert "newer edition" in refused(f'{{"format": "{FORMAT}", "version": {version}, "new part": [1]}}')


@pytest.mark.parametrize(
    "version", ["0", "-1", "null", "true", "false", '"1"', "1.0", "1.5", "2.5", "[1]", "{}", "NaN", "1e999"]
)
def test_a_version_that_never_was_is_refused(version):
    assert "version" in refused(f'{{"format": "{FORMAT}", "version": {version}}}')


def test_a_file_with_no_version_is_refused():
    assert "version" in refused(f'{{"format": "{FORMAT}"}}')


# One declaration


def test_a_field_more_in_the_declaration_is_in_file_and_schema():
    model = model_with_one_more_field()
    s = take_in({"second": [{"rested_at": "12.5 V"}]}, model)
    text = to_file(s)
    assert '"rested_at": "12.5 V"' in text
    assert from_file(text, model) == s
    own = schema(model)
    said = own["properties"]["second"]["items"]["properties"]["rested_at"]
    assert said["title"] == "Voltage at rest" and "9 to 15" in said["description"]
    Draft202012Validator(own).validate(json.loads(text))
    assert not VALIDATOR.is_valid(json.loads(text))
    assert "rested_at" in refused(text)


def test_every_demo_is_listed():
    files = {path.name for path in resources.files("calc.setup.demos").iterdir() if path.name.endswith(".json")}
    assert files == {f"{name}.json" for name in demos.NAMES}
