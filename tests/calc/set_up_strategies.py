"""Set-ups for tests: any that the model allows, and a model with one more field, to see that all follows from it."""

from dataclasses import replace

from hypothesis import strategies as st

from calc.fields import Choice, Field, Number, Size, Text, is_blank
from calc.setup.model import LONGEST_NAME, LONGEST_TEXT, MODEL, Model, SetUp, take_in
from calc.setup.parts import number
from calc.units import printable

SIZES = ("0.5 mm2", "16 mm2", "95 mm²", "6 AWG", "4/0 AWG", "2 SAE", "6 mm", "6 B&S", "25")
ODD = (
    "?",
    "",
    " ",
    "abc",
    "1,000",
    "5 kg",
    "24 V",
    "28.4 V",
    "1e9",
    "-0",
    "<b>&amp;</b>",
    "__proto__",
    '"',
    "\\",
    "½",
    "🔋",
)


def plain(longest: int) -> st.SearchStrategy[str]:
    """Return texts that an entry may hold, whatever they mean."""
    return st.text(max_size=longest).filter(printable)


def readable(field: Field) -> st.SearchStrategy[str]:
    """Return texts that a field can read."""
    if isinstance(field, Choice):
        return st.sampled_from([key for key, _ in field.options])
    if isinstance(field, Number):
        low, high = field.limits
        typed = st.floats(low, high, allow_subnormal=False).map(
            lambda value: f"{value:.4g} {field.unit}".removesuffix(" -")
        )
        return st.one_of(st.sampled_from([f"{low:g}", f"{high:g}"]), typed)
    if isinstance(field, Size):
        return st.sampled_from(SIZES)
    assert isinstance(field, Text)
    return plain(field.longest).filter(lambda text: not is_blank(text))


def entry(field: Field) -> st.SearchStrategy[str]:
    """Return texts that a set-up may hold for a field: read or not."""
    return st.one_of(readable(field), st.sampled_from(ODD), plain(LONGEST_TEXT))


def mappings(model: Model = MODEL, of=entry, most: int = 3) -> st.SearchStrategy[dict]:
    """Return plain mappings of set-ups, with up to `most` parts of a kind."""

    def one(part):
        return st.fixed_dictionaries({}, optional={f.name: of(f) for f in part.fields})

    def part(declared):
        several = st.lists(one(declared), max_size=min(most, declared.many))
        return several if declared.many > 1 else one(declared)

    parts = {p.key: part(p) for p in model.parts}
    return st.fixed_dictionaries({}, optional={"name": plain(LONGEST_NAME)} | parts)


def set_ups(model: Model = MODEL, of=entry, most: int = 3) -> st.SearchStrategy[SetUp]:
    """Return set-ups that the model allows."""
    return mappings(model, of, most).map(lambda data: take_in(data, model))


def fullest(text: str, model: Model = MODEL) -> SetUp:
    """Return the set-up with every part there can be, the same text at every place."""
    data = {}
    for part in model.parts:
        one = {f.name: text for f in part.fields}
        data[part.key] = [one] * part.many if part.many > 1 else one
    return take_in({"name": text[:LONGEST_NAME], **data}, model)


NEW_FIELD = number("rested_at", "Voltage at rest", "Read in the morning", "12.7 V", "voltage", 9, 15)
NEW_USUAL = {
    "key": "second.rested_at",
    "value": "12.7 V",
    "low": "12.2 V",
    "high": "12.9 V",
    "source": "practice",
    "words": "a healthy battery after a night",
    "find": "Meter on its posts in the morning",
}


def model_with_one_more_field(field: Field = NEW_FIELD, usual: dict = NEW_USUAL) -> Model:
    """Return a copy of the declaration with one more field, in the part that the key of its usual value names."""
    key = usual["key"].partition(".")[0]
    parts = tuple(replace(p, fields=(*p.fields, field)) if p.key == key else p for p in MODEL.parts)
    return Model(parts, replace(MODEL.assumptions, rows=(*MODEL.assumptions.rows, usual)))
