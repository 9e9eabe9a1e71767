"""A check: one question, declared once. Form, command line, link, page and sheet are all made from it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING

from calc import cautions, edition, units
from calc.errors import InputError
from calc.fields import Entry, Field, FieldError, Start, is_blank
from calc.glossary import Quantity, quantity
from calc.setup.usual import USUAL_WORDS, usual_set_up
from calc.sources import cite

if TYPE_CHECKING:
    from calc.setup.model import SetUp
    from calc.setup.starts import Source

LEVELS = ("ok", "caution", "stop")
"""How a verdict weighs: go on, think, do not."""


@dataclass(frozen=True)
class Output:
    """A value that an answer holds: its key, its quantity in the glossary, and what a reader calls it.

    `always` is false where the value has no meaning for some inputs and is then left out.
    """

    key: str
    quantity_name: str
    label: str
    always: bool = True

    @property
    def quantity(self) -> Quantity:
        """The quantity it carries."""
        return quantity(self.quantity_name)


@dataclass(frozen=True)
class Value:
    """A computed value: the number in `unit`, its words, and the range it may lie in where one is known.

    `value` is None where there is no such number; `text` then says why ("no limit at this load").
    """

    key: str
    value: float | None
    unit: str
    label: str
    text: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Verdict:
    """A judgement in words: its level (one of LEVELS), what it says, and the reason for it."""

    level: str
    text: str
    because: str


@dataclass(frozen=True)
class Step:
    """One step of the working: what was done, the formula with its numbers, and where it comes from."""

    text: str
    formula: str
    source: str


@dataclass(frozen=True)
class Line:
    """A line of a plot: its name, its points as (x, y), and how it is drawn ("solid", "dashed" or "dotted")."""

    name: str
    points: tuple[tuple[float, float], ...]
    stroke: str


@dataclass(frozen=True)
class Plot:
    """A picture of how quantities hang together; the page draws it.

    Attributes
    ----------
    title : what it shows
    x, y : what the axes carry, with their units
    x_range, y_range : ends of the axes, above 0 where they are logarithmic
    lines : what is drawn
    marks : upright lines at an x, each with its name
    words : the same in a sentence or two, for who cannot see it
    x_axis : "log", "linear", or "time": hours from a midnight on, shown as days and hours of the day
    y_axis : "log" or "linear"
    bands, band : stretches of x that are shaded, and what they are, such as nights
    readings : what the lines say at an x, in words, from left to right: a reader moves a finger or a slider over them
    """

    title: str
    x: str
    y: str
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    lines: tuple[Line, ...]
    marks: tuple[tuple[float, str], ...]
    words: str
    x_axis: str = "log"
    y_axis: str = "log"
    bands: tuple[tuple[float, float], ...] = ()
    band: str = ""
    readings: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True)
class Sheet:
    """A table in an answer.

    Attributes
    ----------
    title : what it holds
    headings : of its columns; the first column names the row
    rows : words; a cell with none is a place to write in by hand
    note : what to know before it is read, in sentences
    pocket : whether it is one of the panels of a card that folds, where the check prints one
    places : of a sheet that takes readings, what the third cell of each row takes; the fourth says what became of it
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    pocket: bool = True
    places: tuple[Place, ...] = ()


@dataclass(frozen=True)
class Place:
    """A place on a sheet that takes a reading.

    Attributes
    ----------
    key : place and state as they are typed, "second rested"
    label : what it is called where nothing stands around it, "Second battery, at rest"
    unit : "V" or "A"
    plain : the reading as it is typed, "second rested 11.9 V"; "" where none was taken
    """

    key: str
    label: str
    unit: str
    plain: str = ""

    @property
    def number(self) -> str:
        """What was read, without its unit."""
        return self.plain.removeprefix(self.key).removesuffix(self.unit).strip()


@dataclass(frozen=True)
class Probing:
    """A reading that can be taken: how the vehicle stands meanwhile, and where the meter goes.

    Attributes
    ----------
    key : place and state as they are typed, "second rested"
    place, state : keys of `calc.physics.faults`
    title : what it is called in a list, "Second battery, at rest"
    instruction : what to do, in whole sentences
    red, black : where each probe goes; `black` is "" where a clamp meter goes around a lead
    unit : "V" or "A"
    cautions : what can hurt meanwhile
    healthy : what it shows where all is well, in words
    """

    key: str
    place: str
    state: str
    title: str
    instruction: str
    red: str
    black: str
    unit: str
    cautions: tuple[str, ...]
    healthy: str


@dataclass(frozen=True)
class Taken:
    """A reading that was taken: as it is typed ("second rested 11.9 V"), as it is shown, and what it tells."""

    probing: Probing
    plain: str
    shown: str
    tells: str


@dataclass(frozen=True)
class Suspect:
    """A cause that may be behind some readings.

    Attributes
    ----------
    key : of `calc.physics.faults`
    title : what it is called
    chance : how likely it is, 0 to 1
    odds : the same in words
    speaks_for, speaks_against : what the readings say of it, in sentences
    now, never : what to do about it, and what not to do
    """

    key: str
    title: str
    chance: float
    odds: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    now: tuple[str, ...]
    never: tuple[str, ...]


@dataclass(frozen=True)
class Search:
    """How far the search for a cause has come; the page guides its reader by it, reading by reading.

    Attributes
    ----------
    link, return_path : kinds in the set-up that is searched
    taken : readings taken, in their order
    ahead : readings that can still be taken, the one that tells most for its effort first
    skipped : those that are out of reach
    suspects : causes, the likeliest first
    sure : whether one is sure enough to stop
    helps : whether a reading that is left can still tell something
    says : the same in a sentence
    """

    link: str
    return_path: str
    taken: tuple[Taken, ...]
    ahead: tuple[Probing, ...]
    skipped: tuple[Probing, ...]
    suspects: tuple[Suspect, ...]
    sure: bool
    helps: bool
    says: str


class Findings:
    """What a check's compute function fills in, in the order a reader should meet it."""

    def __init__(self, check: Check):
        self._outputs = {output.key: output for output in check.outputs}
        self.values: dict[str, Value] = {}
        self.verdicts: list[Verdict] = []
        self.cautions: list[str] = []
        self.steps: list[Step] = []
        self.plots: list[Plot] = []
        self.sheets: list[Sheet] = []
        self.search: Search | None = None
        self.design: SetUp | None = None

    def value(self, key, value, low=None, high=None, text=None):
        """Record a declared value, in its glossary unit; `text` replaces the usual words."""
        output = self._outputs[key]
        q = output.quantity
        if text is None:
            text = units.show(value, q.unit, q.places)
            if low is not None and high is not None:
                text = units.span(low, high, q.unit, q.places)
        self.values[key] = Value(key, value, q.unit, output.label, text, low, high)

    def verdict(self, level: str, text: str, because: str):
        """Record a judgement."""
        self.verdicts.append(Verdict(level, units.told(text), units.told(because)))

    def caution(self, *texts: str):
        """Record cautions, each once, from `calc.cautions`; to a local code go those of this edition."""
        codes = edition.current().codes_sentence if cautions.LOCAL_CODE in texts else ""
        said = [units.told(text) for text in texts] + [codes] * bool(codes)
        self.cautions += [text for text in said if text not in self.cautions]

    def step(self, text: str, formula: str, source: str, where: str = ""):
        """Record a step of the working; `source` is a key of `calc.sources`."""
        self.steps.append(Step(units.told(text), formula, cite(source, where)))


class Inputs:
    """The entries of a check by attribute: `i.current` is the number, `i.text("current")` its words.

    Attributes
    ----------
    set_up : the vehicle, for a check of a whole one; else None
    """

    def __init__(self, entries: Mapping[str, Entry], set_up: SetUp | None = None):
        self._entries = entries
        self.set_up = set_up

    def __getattr__(self, name: str):
        try:
            return self._entries[name].value
        except KeyError:
            raise AttributeError(name) from None

    def text(self, name: str) -> str:
        """Return an entry in words."""
        return self._entries[name].text

    def entry(self, name: str) -> Entry:
        """Return an entry as it was read."""
        return self._entries[name]

    def given(self, name: str) -> bool:
        """Return whether the reader gave it, or the default stands in."""
        return self._entries[name].given is not None


@dataclass(frozen=True)
class Cases:
    """The table of common cases that stands on a check's page before anything runs.

    Attributes
    ----------
    caption : what the table shows
    rows, columns : each a pair of a heading and the inputs that it stands for
    shows : key of the value in each cell
    inputs : what all cells share
    """

    caption: str
    rows: tuple[tuple[str, Mapping[str, str]], ...]
    columns: tuple[tuple[str, Mapping[str, str]], ...]
    shows: str
    inputs: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Check:
    """A question that the book answers.

    Attributes
    ----------
    id : its place in the address and on the command line
    title : its name
    question : as a person would ask it
    about : a short paragraph for the head of its page
    task : "camp", "vehicle" or "home": where one needs it
    fields : its inputs, in the order they are asked
    outputs : the values of its answer, in the order they are read
    compute : fills `Findings` from `Inputs`
    example : inputs of the worked example
    example_story : the example in a sentence
    cases : the table of common cases
    guides : names of guides that say more
    starts : field name → what of a set-up it starts from, where a set-up can fill it
    gives : value key → part and field of a set-up that the value can be written into
    gives_run : whether its design's run of cable can be written into a set-up
    whole : whether it works on a whole set-up, `Inputs.set_up`; the usual one stands in where none is chosen
    prints : how its answer is printed to be taken along: "page", or also as a "pocket" card; () where it is not
    keeps : whether its answer about a kept set-up stays beside it on the phone, to be shown with no engine
    """

    id: str
    title: str
    question: str
    about: str
    task: str
    fields: tuple[Field, ...]
    outputs: tuple[Output, ...]
    compute: Callable[[Inputs, Findings], None]
    example: Mapping[str, str]
    example_story: str
    cases: tuple[Cases, ...]
    guides: tuple[str, ...] = ()
    starts: Mapping[str, Source] = field(default_factory=dict)
    gives: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    gives_run: bool = False
    whole: bool = False
    prints: tuple[str, ...] = ()
    keeps: bool = False

    @property
    def essentials(self) -> int:
        """How many fields, counted from the first, have to be looked at: all up to the last that is essential."""
        return max((n for n, f in enumerate(self.fields, 1) if f.essential), default=0)

    def field(self, name: str) -> Field:
        """Return the field of that name."""
        return next(f for f in self.fields if f.name == name)

    def read(self, inputs: Mapping[str, object], set_up: SetUp | None = None) -> dict[str, Entry]:
        """Return every field's entry: what was given, else what the set-up knows, else the default.

        Raises
        ------
        InputError
            with a sentence for each field that cannot be used.
        """
        known = {f.name for f in self.fields}
        errors = {
            units.shorten(name): f"There is no field “{units.shorten(name)}” here; "
            f"the fields are {', '.join(f.name for f in self.fields)}."
            for name in inputs
            if name not in known
        }
        entries = {}
        for f in self.fields:
            given = inputs.get(f.name)
            start = self.start(f.name, set_up) if is_blank(given) else None
            try:
                entry = f.read(start.text if start else given, entries)
                entries[f.name] = replace(entry, given=None, start=start) if start else entry
            except FieldError as problem:
                errors[f.name] = str(problem)
        if errors:
            raise InputError(errors)
        return entries

    def start(self, name: str, set_up: SetUp | None) -> Start | None:
        """Return what a field starts from in a set-up, or None."""
        source = self.starts.get(name)
        return source(set_up) if source and set_up else None


@dataclass(frozen=True)
class Answer:
    """What a check answers: its inputs as read, values, verdicts, cautions and the working.

    `plots`, `sheets`, `search` and `design` (a set-up with the answer written into it, to be drawn) are there where a
    check makes them; `about` says which vehicle the answer is about, where it is about a whole one.
    """

    check: str
    inputs: Mapping[str, Entry]
    values: Mapping[str, Value]
    verdicts: tuple[Verdict, ...]
    cautions: tuple[str, ...]
    steps: tuple[Step, ...]
    plots: tuple[Plot, ...] = ()
    design: SetUp | None = None
    about: str = ""
    sheets: tuple[Sheet, ...] = ()
    search: Search | None = None

    @property
    def level(self) -> str:
        """The gravest level among the verdicts."""
        return max((v.level for v in self.verdicts), key=LEVELS.index, default="ok")

    def to_dict(self) -> dict:
        """Return the answer as JSON carries it."""

        def value(v: Value) -> dict:
            known = {"value": v.value, "unit": v.unit, "label": v.label, "text": v.text}
            return known | {k: getattr(v, k) for k in ("low", "high") if getattr(v, k) is not None}

        def entry(e: Entry) -> dict:
            read = {"value": e.number(), "unit": e.unit, "given": e.given}
            return read | {"from": e.start.label, "assumed": e.start.assumed} if e.start else read

        return {
            "check": self.check,
            "inputs": {name: entry(e) for name, e in self.inputs.items()},
            "values": {key: value(v) for key, v in self.values.items()},
            "verdicts": [{"level": v.level, "text": v.text, "because": v.because} for v in self.verdicts],
            "cautions": list(self.cautions),
            "steps": [{"text": s.text, "formula": s.formula, "source": s.source} for s in self.steps],
            **({"search": in_lists(asdict(self.search))} if self.search else {}),
        }


def in_lists(thing):
    """Return a thing with lists in place of tuples, as JSON gives it back."""
    if isinstance(thing, dict):
        return {key: in_lists(one) for key, one in thing.items()}
    return [in_lists(one) for one in thing] if isinstance(thing, (list, tuple)) else thing


def answer(check: Check, inputs: Mapping[str, object], set_up: SetUp | None = None) -> Answer:
    """Return a check's answer to a mapping of field name to text or number, started from a set-up where there is one.

    Raises
    ------
    InputError
        with one sentence for each field that cannot be used.
    """
    entries = check.read(inputs, set_up)
    found = Findings(check)
    vehicle = (set_up or usual_set_up()) if check.whole else None
    check.compute(Inputs(entries, vehicle), found)
    found.cautions += edition.current().cautions_of(check.id)
    values = {o.key: found.values[o.key] for o in check.outputs if o.always or o.key in found.values}
    return Answer(
        check.id,
        entries,
        values,
        tuple(found.verdicts),
        tuple(found.cautions),
        tuple(found.steps),
        tuple(found.plots),
        found.design,
        about(set_up) if check.whole else "",
        tuple(found.sheets),
        found.search,
    )


def about(set_up: SetUp | None) -> str:
    """Say which vehicle an answer is about, and how much of it is assumed."""
    if set_up is None:
        return f"This is about a usual vehicle, as nothing is known of yours. {USUAL_WORDS}"
    missing = len(set_up.missing())
    said = f"This is about {set_up.name or 'a vehicle with no name'}."
    return f"{said} Where it says nothing ({missing} entries), the usual is assumed." if missing else said
