"""Guides: Markdown whose numbers are computed by `calc` when the page is built.

A guide is a file in `guides/`: a head of `key: value` lines, a blank line, then Markdown with Jinja2 expressions:

    {{ value("cable-drop", "drop", current="25 A", length="6 m", size="10 mm2") }}    0.46 V
    {{ verdict("fuse-choice", current="25 A", size="10 mm2") }}                       its first verdict, in words
    {{ reason("fuse-choice", current="25 A", size="10 mm2") }}                        and the reason for it
    {{ given("cable-drop", "allowed_drop", current="25 A", length="6 m") }}           an input as read, or its default
    {{ link("cable-drop", "work it out", current="25 A", length="6 m") }}             a link with the form filled in
    {{ entry("bci_rest_voltage", "voltage", "V", charge=50) }}                        a number of a published table
    {{ assumed("night", "low") }}                                                     a usual value, or an end of it
    {{ usual("link.connects_at") }}                                                   the same of an unknown in a set-up
    {{ caution("GAS") }}                                                              a caution, as every page words it

`example("cable-drop", size="6 mm2")` stands for the inputs of the check's own example, with changes. After two stars it
goes wherever inputs go: `{{ value("cable-drop", "drop", **example("cable-drop")) }}`. A table of answers is a Markdown
table with a `{% for … %}` over its rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from urllib.parse import quote, urlencode

import jinja2
from markdown_it import MarkdownIt

import calc
from calc import cautions, tables, units
from calc.setup.model import MODEL

FOLDER = Path(__file__).parent / "guides"
KEYS = ("title", "summary", "task", "order", "checks")


@dataclass(frozen=True)
class Guide:
    """A guide: its name in the address, and what its head says; `text` is Markdown before its numbers are in."""

    name: str
    title: str
    summary: str
    task: str
    order: int
    checks: tuple[str, ...]
    text: str


def read(path: Path) -> Guide:
    """Return a guide from its file; ValueError says what its head lacks."""
    head_text, _, text = path.read_text("utf-8").partition("\n\n")
    head = dict(line.split(": ", 1) for line in head_text.splitlines())
    if set(head) != set(KEYS):
        raise ValueError(f"{path.name} has the head {sorted(head)}; it needs {sorted(KEYS)}")
    names = tuple(name.strip() for name in head["checks"].split(",") if name.strip())
    return Guide(path.stem, head["title"], head["summary"], head["task"], int(head["order"]), names, text)


def all_guides() -> list[Guide]:
    """Return all guides in reading order."""
    return sorted((read(path) for path in FOLDER.glob("*.md")), key=lambda guide: (guide.order, guide.name))


@cache
def answer(check_id: str, inputs: tuple[tuple[str, str], ...]) -> calc.Answer:
    """Return a check's answer; guides ask for the same one often."""
    return calc.run(check_id, dict(inputs))


def value(check_id: str, key: str, **inputs: str) -> str:
    """Return a value of an answer in words."""
    return answer(check_id, tuple(inputs.items())).values[key].text


def verdict(check_id: str, **inputs: str) -> str:
    """Return the first verdict of an answer."""
    return answer(check_id, tuple(inputs.items())).verdicts[0].text


def reason(check_id: str, **inputs: str) -> str:
    """Return the reason for the first verdict of an answer."""
    return answer(check_id, tuple(inputs.items())).verdicts[0].because


def given(check_id: str, field: str, **inputs: str) -> str:
    """Return an input in words: a quantity digit by digit as it was given, else as it was read or by its default."""
    entry = answer(check_id, tuple(inputs.items())).inputs[field]
    if entry.given is None or not isinstance(entry.value, float):
        return entry.text
    number, _, unit = entry.given.replace("-", "−").partition(" ")
    return f"{number}\u00a0{units.sign(unit)}"


def example(check_id: str, **changes: str) -> dict[str, str]:
    """Return the inputs of a check's own example, with changes."""
    return dict(calc.checks()[check_id].example) | changes


def assumed(key: str, part: str = "value") -> str:
    """Return a usual value in words; `part` is "value", "low", "high" or "span" (from low to high)."""
    row = tables.assumption(key)
    if part == "span":
        return f"{units.show(row['low'])} to {units.show(row['high'], row['unit'])}"
    return units.show(row[part], row["unit"])


def usual(place: str, part: str = "value") -> str:
    """Return in words what an unknown of a set-up stands for; `part` as for `assumed`."""
    key, _, name = place.partition(".")
    field, stands = MODEL.part(key).field(name), MODEL.usual[place]
    if part == "span":
        low, high = (field.read(text, {}).value for text in (stands.low, stands.high))
        return f"{units.show(low)} to {units.show(high, field.unit)}"
    return field.read({"value": stands.text, "low": stands.low, "high": stands.high}[part], {}).text


def entry(table: str, column: str, unit: str = "-", places: int | None = None, **key) -> str:
    """Return a number of a published table in words."""
    return units.show(tables.table(table).row(**key)[column], unit, places)


def caution(name: str) -> str:
    """Return a caution, set apart."""
    return f"> {getattr(cautions, name)}"


EXPRESSIONS = (value, verdict, reason, given, example, assumed, usual, entry, caution)
"""What a guide may call, beside `link`, which has to know the page it stands on."""


def body(guide: Guide, root: str) -> str:
    """Return a guide's page body as HTML; `root` leads from its page to the site's start."""

    def link(check_id: str, text: str, **inputs: str) -> str:
        address = f"{root}checks/{check_id}/"
        return f"[{text}](<{address}{'#' + urlencode(inputs, quote_via=quote) if inputs else ''}>)"

    environment = jinja2.Environment(undefined=jinja2.StrictUndefined, autoescape=False)
    environment.globals.update({expression.__name__: expression for expression in EXPRESSIONS} | {"link": link})
    markdown = environment.from_string(guide.text).render()
    return MarkdownIt("commonmark", {"html": False}).enable("table").render(markdown)
