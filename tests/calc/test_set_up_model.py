"""The set-up's declaration: every unknown has a usual value; nothing typed is lost; what cannot be taken in is said."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.fields import Choice, Number
from calc.setup.model import LONGEST_NAME, LONGEST_TEXT, MODEL, SetUp, SetUpError, give_out, take_in
from calc.setup.parts import ASKED, PARTS
from tests.calc.set_up_strategies import fullest, model_with_one_more_field, readable, set_ups

EMPTY = SetUp("", {})
FIELDS = [(part.key, field.name) for part, field in MODEL.fields()]
every_field = pytest.mark.parametrize(("part", "name"), FIELDS, ids=[".".join(f) for f in FIELDS])


def sentence(problem):
    """Return the text of an error, after seeing that it is one sentence or two for a reader."""
    text = str(problem.value if hasattr(problem, "value") else problem)
    assert 10 < len(text) <= 300
    assert text.endswith(".") and "\n" not in text
    assert all(c.isprintable() or c == "\u00a0" for c in text)
    assert not any(trace in text for trace in ("Traceback", "Error", "calc.", "None"))
    return text


# What is declared


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.key)
def test_a_part_is_declared_whole(part):
    names = [f.name for f in part.fields]
    assert part.title and part.about.rstrip(".").strip() and 1 <= part.many <= 12
    assert len(set(names)) == len(names)
    assert len({f.label for f in part.fields}) == len(names)
    assert set(part.first) <= set(names)
    for name, (on, keys) in part.when.items():
        assert name in names and name not in (on,)
        assert on in names and on not in part.when
        assert set(keys) <= {key for key, _ in part.field(on).options}


def test_every_part_is_asked_once():
    assert sorted(ASKED) == sorted(part.key for part in PARTS)


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.key)
def test_a_label_does_not_say_its_part_again(part):
    for field in part.fields:
        assert part.title.lower() not in EMPTY.label((part.key, 0, field.name)).removeprefix(part.title).lower()


@every_field
def test_no_field_has_to_be_filled(part, name):
    field = MODEL.part(part).field(name)
    assert not field.required and field.default == ""
    assert field.help and field.takes
    assert field.read(field.example, {}).value is not None


def test_the_table_of_usual_values_and_the_declaration_name_the_same_places():
    assert set(MODEL.usual) == {f"{part}.{name}" for part, name in FIELDS}
    assert len(MODEL.assumptions.rows) == len(FIELDS)


@every_field
def test_every_unknown_has_a_usual_value_that_its_field_reads(part, name):
    field, usual = MODEL.part(part).field(name), MODEL.usual[f"{part}.{name}"]
    stands = field.read(usual.text, {})
    assert stands.value is not None
    assert usual.source and usual.words
    if name != "name":
        assert usual.find and not usual.find.endswith(".")
    if isinstance(field, Number):
        low, high = field.read(usual.low, {}).value, field.read(usual.high, {}).value
        assert low <= stands.value <= high
        assert low < high
        assert usual.text.endswith(f" {field.unit}") or field.unit in ("-", "year")
    if isinstance(field, Choice):
        assert usual.text in dict(field.options)
        assert not usual.low and not usual.high


def test_a_part_that_is_not_there_is_a_mistake_of_ours():
    with pytest.raises(KeyError, match=r"no part “wheels”; there are vehicle, "):
        MODEL.part("wheels")


# What is known


@every_field
@pytest.mark.parametrize("text", ["", "?", " ? ", "  ", "\u00a0"])
def test_a_question_mark_and_leaving_out_mean_the_same(part, name, text):
    typed = EMPTY.changed((part, 0, name), text)
    known, unknown = typed.known(part, 0, name), EMPTY.known(part, 0, name)
    assert (known.text, known.entry, known.usual) == (unknown.text, unknown.entry, unknown.usual)
    assert known.assumed and not typed.problems()


@every_field
def test_what_cannot_be_read_is_kept_said_and_stands_for_the_usual_value(part, name):
    text = "x" * 60
    typed = EMPTY.changed((part, 0, name), text)
    assert typed.typed(part, 0, name) == text
    known = typed.known(part, 0, name)
    assert known.assumed and known.text == MODEL.usual[f"{part}.{name}"].text
    (problem,) = typed.problems()
    assert problem.place == (part, 0, name)
    assert problem.part == MODEL.part(part).title
    assert MODEL.part(part).field(name).label.lower() in problem.sentence.lower()
    assert problem.sentence.endswith(".") and len(problem.sentence) <= 400


@every_field
@given(data=st.data())
def test_what_can_be_read_is_known(part, name, data):
    text = data.draw(readable(MODEL.part(part).field(name)))
    known = EMPTY.changed((part, 0, name), text).known(part, 0, name)
    assert not known.assumed and known.text == text
    assert known.entry.value is not None and known.entry.text


@given(set_ups())
def test_every_place_of_any_set_up_is_known_or_assumed(s):
    missing = {known.place for known in s.missing()}
    for place in s.places():
        known = s.known(*place)
        assert known.entry.value is not None
        assert known.assumed == (place in missing)
        assert known.label.startswith(MODEL.part(place[0]).title)
        assert not known.assumed or known.usual.source
    for problem in s.problems():
        assert s.known(*problem.place).assumed


def test_what_has_no_meaning_is_not_asked():
    relay = take_in({"link": [{"kind": "relay", "profile": "agm"}]})
    assert relay.asked("link", 0, "connects_at") and not relay.asked("link", 0, "profile")
    assert ("link", 0, "profile") not in set(relay.places())
    charger = relay.changed(("link", 0, "kind"), "charger")
    assert charger.asked("link", 0, "profile") and not charger.asked("link", 0, "connects_at")
    assert charger.known("link", 0, "profile").text == "agm"


def test_a_part_is_numbered_where_there_are_several():
    one, two = take_in({"second": [{}]}), take_in({"second": [{}, {}]})
    assert one.label(("second", 0, "capacity")) == "Second battery, capacity"
    assert two.label(("second", 1, "capacity")) == "Second battery 2, capacity"


def test_what_every_vehicle_has_once_counts_as_one():
    assert EMPTY.count("vehicle") == EMPTY.count("mains") == 1
    assert EMPTY.count("load") == EMPTY.count("second") == 0


@pytest.mark.parametrize("check", calc.checks().values(), ids=calc.checks())
def test_an_answer_marks_what_it_assumed(check):
    needed = {"voltage": "12.4 V"} if check.id == "resting-voltage" else {}
    for s, assumed in ((SetUp("", {"load": [{}]}), True), (fullest_readable(), False)):
        answer = calc.run(check.id, needed, s)
        told = answer.to_dict()["inputs"]
        started = {name: entry for name, entry in answer.inputs.items() if entry.start}
        assert started
        for name, entry in started.items():
            places = entry.start.places
            assert entry.start.assumed == any(s.known(*place).assumed for place in places) or entry.start.usual.words
            assert told[name]["assumed"] == entry.start.assumed
            assert told[name]["from"] == entry.start.label
            assert told[name]["given"] is None
        if assumed:
            assert all(entry.start.assumed for entry in started.values())


def fullest_readable():
    """Return a set-up with one of each part, every field given by its usual value."""
    data = {}
    for part in MODEL.parts:
        one = {f.name: MODEL.usual[f"{part.key}.{f.name}"].text for f in part.fields}
        data[part.key] = [one] if part.many > 1 else one
    return take_in(data)


def test_a_set_up_with_all_given_assumes_nothing():
    assert not fullest_readable().missing()


# Changing, taking in, giving out


@given(set_ups())
def test_giving_out_and_taking_in_lose_nothing(s):
    assert take_in(give_out(s)) == s


@given(set_ups(), st.data())
def test_a_change_changes_one_place(s, data):
    part = data.draw(st.sampled_from(PARTS))
    place = (part.key, data.draw(st.integers(0, part.many - 1)), data.draw(st.sampled_from(part.fields)).name)
    before = give_out(s)
    changed = s.changed(place, "new")
    assert changed.typed(*place) == "new"
    assert give_out(s) == before
    for other in s.places():
        assert other == place or changed.typed(*other) == s.typed(*other)
    assert take_in(give_out(changed)) == changed
    if s.typed(*place):
        assert changed.changed(place, s.typed(*place)) == s


@given(set_ups())
def test_taking_an_entry_away_leaves_no_trace(s):
    full = s.changed(("vehicle", 0, "ambient"), "30 degC")
    gone = full.changed(("vehicle", 0, "ambient"), "")
    assert gone.typed("vehicle", 0, "ambient") == ""
    assert take_in(give_out(gone)) == gone


@pytest.mark.parametrize("text", ["x" * (LONGEST_TEXT + 1), "a\nb", "\x00", "\ud800", "\u202e12", "\ufeff"])
def test_a_change_that_no_file_could_hold_is_refused(text):
    with pytest.raises(SetUpError) as problem:
        EMPTY.changed(("run", 0, "length"), text)
    assert "Cable, length one way" in sentence(problem)
    with pytest.raises(SetUpError) as problem:
        EMPTY.changed(("mains", 1, "rating"), "5 A")
    assert "at most 1" in sentence(problem)


@pytest.mark.parametrize(
    "text", ["25\u00a0A", "25\u202fA", "می\u200cخواهم", "👩\u200d🔧", "Kühlbox №2", "冷蔵庫\u3000前"]
)
def test_fixed_spaces_and_joiners_are_plain_text(text):
    """The book's own numbers carry fixed spaces: what is copied from an answer must be taken."""
    s = EMPTY.changed(("load", 0, "name"), text)
    assert not s.problems()
    assert take_in(give_out(s)).typed("load", 0, "name") == text


DEEP = {}
for _ in range(500):
    DEEP = {"load": [DEEP]}

HOSTILE = [
    None,
    [],
    "text",
    5,
    True,
    {"name": None},
    {"name": 5},
    {"name": ["van"]},
    {"name": "x" * (LONGEST_NAME + 1)},
    {"name": "a\nb"},
    {"name": "\ud800"},
    {"name": "\u202e"},
    {"wheels": {}},
    {"__proto__": {}},
    {"__class__": {}},
    {"<script>alert(1)</script>": {}},
    {"x" * 100_000: {}},
    {"": {}},
    {"vehicle": None},
    {"vehicle": []},
    {"vehicle": [{}]},
    {"vehicle": "x"},
    {"vehicle": 5},
    {"load": {}},
    {"load": None},
    {"load": [None]},
    {"load": [[]]},
    {"load": ["x"]},
    {"load": [5]},
    {"load": [{}] * 13},
    {"load": [{}] * 100_000},
    {"load": [{"__proto__": "x"}]},
    {"load": [{"x" * 100_000: "x"}]},
    {"load": [{"<img src=x onerror=alert(1)>": "x"}]},
    {"load": [{"current": 5}]},
    {"load": [{"current": 5.5}]},
    {"load": [{"current": float("nan")}]},
    {"load": [{"current": None}]},
    {"load": [{"current": True}]},
    {"load": [{"current": ["5 A"]}]},
    {"load": [{"current": {"value": 5}}]},
    {"load": [{"current": "9" * 1000}]},
    {"load": [{"current": "5\x00A"}]},
    {"load": [{"current": "5\tA"}]},
    {"load": [{"current": "\x1b[31m5"}]},
    {"load": [{"current": "5 \udfff"}]},
    {"load": [{"name": "\u202egnp.exe"}]},
    {"load": [{"name": "\u200bFridge"}]},
    DEEP,
]
TOO_LONG_FOR_JSON = {"load": [{"current": 10**5000}]}


@pytest.mark.parametrize("data", [*HOSTILE, TOO_LONG_FOR_JSON], ids=range(len(HOSTILE) + 1))
def test_what_is_no_set_up_is_refused_in_a_sentence(data):
    with pytest.raises(SetUpError) as problem:
        take_in(data)
    text = sentence(problem)
    assert "</script>" not in text and "onerror=alert(1)>" not in text


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "__proto__", "{{7*7}}", "'; DROP TABLE x; --", "%s%n"])
def test_markup_in_an_entry_is_text_like_any_other(text):
    s = fullest(text)
    assert all(s.typed(*place) == text for place in s.places())
    assert s.name == text


# One declaration


def test_a_field_more_in_the_declaration_is_asked_and_known():
    model = model_with_one_more_field()
    s = take_in({"second": [{"rested_at": "?"}]}, model)
    known = s.known("second", 0, "rested_at")
    assert known.assumed and known.text == "12.7 V" and known.label == "Second battery, voltage at rest"
    assert ("second", 0, "rested_at") in set(s.places())
    given_ = s.changed(("second", 0, "rested_at"), "12.5 V")
    assert not given_.known("second", 0, "rested_at").assumed
    assert take_in(give_out(given_), model) == given_
    with pytest.raises(SetUpError, match="rested_at"):
        take_in(give_out(given_))


def test_a_model_is_not_changed_by_its_copy():
    assert "second.rested_at" not in MODEL.usual
    assert replace(MODEL) == MODEL
