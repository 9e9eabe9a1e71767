"""Guides: Markdown whose numbers are computed by `calc` when the page is built.

A guide is a file in `guides/`: a head of `key: value` lines, a blank line, then Markdown with Jinja2 expressions:

    {{ value("cable-drop", "drop", current="25 A", length="6 m", size="10 mm2") }}    0.46 V
    {{ verdict("fuse-choice", current="25 A", size="10 mm2") }}                       its first verdict, in words
    {{ gravest("fuse-choice", current="25 A", size="10 mm2") }}                       the gravest; `second`: the next
    {{ reason("fuse-choice", current="25 A", size="10 mm2") }}                        and the reason for it
    {{ given("cable-drop", "allowed_drop", current="25 A", length="6 m") }}           an input as read, or its default
    {{ link("cable-drop", "work it out", current="25 A", length="6 m") }}             a link with the form filled in
    {{ page("set-ups", "your set-ups") }}                                             a link to another page
    {{ entry("bci_rest_voltage", "voltage", "V", charge=50) }}                        a number of a published table
    {{ assumed("night", "low") }}                                                     a usual value, or an end of it
    {{ usual("link.connects_at") }}                                                   the same of an unknown in a set-up
    {{ caution("GAS") }}                                                              a caution, as every page words it
    {{ cause("front_fuse") }}                                                         what a fault is called
    {{ story("front_fuse") }}                                                         how the fault finder comes to it
    {% for test in drop_tests() %}                                                    each drop test with its limit
    {{ picture("fuses") }}                                                            a picture with its words
    {{ glossary() }}                                                                  the trade's words, see `words`

An input named as a place of a set-up changes the usual vehicle: `{{ value("trip", "used", **{"sun.power": "50 W"}) }}`
`example("cable-drop", size="6 mm2")` stands for the inputs of the check's own example, with changes. After two stars it
goes wherever inputs go: `{{ value("cable-drop", "drop", **example("cable-drop")) }}`. A table of answers is a Markdown
table with a `{% for … %}` over its rows.

A club's guides, see `site_src.edition_file`, are held to the same: a quantity is worked out, or marked as the club's
own words with `{{ own("40 km") }}`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote, urlencode

import jinja2
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markdown_it import MarkdownIt

import calc
from calc import cautions, tables, units
from calc import edition as answering
from calc.checks import fault_finder, fault_words
from calc.setup.model import MODEL
from site_src import edition, pictures, settings, stories, words
from site_src.answers import asked
from site_src.trouble import Trouble

FOLDER = Path(__file__).parent / "guides"
ABOVE = "../../"
"""Leads from a guide's page to the site's start."""

KEYS = ("title", "summary", "task", "order", "checks")
WELCOME = "welcome"
HEAD = """\
title: The salt flats
summary: What salt does to terminals, and what to do the same day.
task: camp
order: 1
checks: cable-drop, fuse-choice
"""
"""The head of a guide, as an example."""

QUANTITY = re.compile(
    r"(?<![\w.])\d+(?:[.,]\d+)?\s?(?:V|mV|A|mA|Ah|Wh|W|mm²|mm2|mm|m|cm|km|ft|%|°C|°F|Ω|mΩ|AWG|hours?|h|minutes?|min|days?|years?)"
    r"(?![\w²])"
)
"""A quantity that somebody typed."""

SYSTEM_VOLTAGE = "12 V"
"""The kind of system, a name rather than a number that could be wrong."""


@dataclass(frozen=True)
class Guide:
    """A guide: its name in the address, and what its head says; `text` is Markdown before its numbers are in.

    `club` is the one that wrote it, "" for the book's own; `file` is where it was read, for a sentence about it.
    """

    name: str
    title: str
    summary: str
    task: str
    order: int
    checks: tuple[str, ...]
    text: str
    club: str = ""
    file: str = ""


def read(path: Path) -> Guide:
    """Return a guide from its file; ValueError says what its head lacks."""
    head_text, _, text = path.read_text("utf-8").partition("\n\n")
    head = dict(line.split(": ", 1) for line in head_text.splitlines())
    if set(head) != set(KEYS):
        raise ValueError(f"{path.name} has the head {sorted(head)}; it needs {sorted(KEYS)}")
    names = tuple(name.strip() for name in head["checks"].split(",") if name.strip())
    return Guide(path.stem, head["title"], head["summary"], head["task"], int(head["order"]), names, text)


def all_guides() -> list[Guide]:
    """Return all of the book's own guides in reading order, then the club's."""
    own = sorted((read(path) for path in FOLDER.glob("*.md")), key=lambda guide: (guide.order, guide.name))
    return [*own, *edition.current().guides]


def read_club_guide(path: Path, club: str) -> Guide:
    """Return a club's guide, or raise Trouble with a sentence that says what of it cannot be used."""
    try:
        guide = read(path)
    except (OSError, ValueError):
        raise Trouble(f"{path} must begin with a head of five lines and a blank one, such as\n{HEAD}") from None
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", guide.name):
        raise Trouble(f"{path} must be called by small letters, digits and -, such as salt-flats.md.")
    if (FOLDER / path.name).exists() or guide.name == "index":
        raise Trouble(
            f"{path} has the name of one of the book's own guides: call it otherwise, such as our-{guide.name}.md."
        )
    if guide.task not in dict(settings.TASKS):
        raise Trouble(f"{path} has the task “{guide.task}”; there are {', '.join(dict(settings.TASKS))}: task: camp.")
    if unknown := set(guide.checks) - set(calc.checks()):
        there = ", ".join(calc.checks())
        raise Trouble(f"{path} names the check “{min(unknown)}”; there are {there}: checks: cable-drop, fuse-choice.")
    return held_to_rules(replace(guide, club=club, file=str(path)))


def read_welcome(path: Path) -> Guide:
    """Return a club's welcome page: a guide with a head of two lines."""
    try:
        head_text, _, text = path.read_text("utf-8").partition("\n\n")
        head = dict(line.split(": ", 1) for line in head_text.splitlines())
        title, summary = head.pop("title"), head.pop("summary")
    except (OSError, ValueError, KeyError):
        head, title, summary, text = {"": ""}, "", "", ""
    if head:
        raise Trouble(
            f"{path} must begin with a head of two lines and a blank one, such as\n"
            "title: Welcome to the club's book\nsummary: What we added, and whom to ask.\n"
        )
    return held_to_rules(Guide(WELCOME, title, summary, "", 0, (), text, file=str(path)))


def held_to_rules(guide: Guide) -> Guide:
    """Return a club's guide, or raise Trouble where a quantity is typed into it or it shows a picture of its own."""
    if typed := typed_quantities(guide):
        raise Trouble(
            f"{guide.file} holds “{typed[0]}” as typed. Let the book work it out, such as "
            '{{ value("cable-drop", "drop", current="25 A", length="6 m", size="10 mm2") }}, '
            f'or mark it as your own words: {{{{ own("{typed[0]}") }}}}.'
        )
    if re.search(r"!\[", guide.text):
        raise Trouble(
            f"{guide.file} shows an image, which the book cannot carry. Its own pictures can be shown, such as "
            '{{ picture("fuses") }}.'
        )
    return guide


def typed_quantities(guide: Guide) -> list[str]:
    """Return every quantity in a guide that no expression worked out."""
    words_ = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", guide.text, flags=re.DOTALL)
    said = f"{words_}\n{guide.summary}\n{guide.title}".replace("\u00a0", " ")
    return [found for found in QUANTITY.findall(said) if found != SYSTEM_VOLTAGE]


def value(check_id: str, key: str, **inputs: str) -> str:
    """Return a value of an answer in words."""
    return asked(check_id, **inputs).values[key].text


def verdict(check_id: str, **inputs: str) -> str:
    """Return the first verdict of an answer."""
    return asked(check_id, **inputs).verdicts[0].text


def reason(check_id: str, **inputs: str) -> str:
    """Return the reason for the first verdict of an answer."""
    return asked(check_id, **inputs).verdicts[0].because


def gravest(check_id: str, **inputs: str) -> str:
    """Return the gravest verdict of an answer, the first of those where there are several."""
    found = asked(check_id, **inputs)
    return next(verdict.text for verdict in found.verdicts if verdict.level == found.level)


def second(check_id: str, **inputs: str) -> str:
    """Return the second verdict of an answer."""
    return asked(check_id, **inputs).verdicts[1].text


def given(check_id: str, field: str, **inputs: str) -> str:
    """Return an input in words: a quantity digit by digit as it was given, else as it was read or by its default.

    Where the region says it in another unit, it is said so.
    """
    entry = asked(check_id, **inputs).inputs[field]
    if entry.given is None or not isinstance(entry.value, float) or units.shown_in(entry.unit) != entry.unit:
        return entry.text
    number, _, unit = entry.given.replace("-", "−").partition(" ")
    return f"{number}\u00a0{units.sign(unit)}"


def example(check_id: str, **changes: str) -> dict[str, str]:
    """Return the inputs of a check's own example, with changes."""
    return dict(calc.checks()[check_id].example) | changes


def assumed(key: str, part: str = "value", unit: str = "") -> str:
    """Return a usual value in words; `part` is "value", "low", "high" or "span", `unit` another than the table's."""
    row = tables.assumption(key)
    unit = unit or row["unit"]
    number = {end: units.convert(row[end], row["unit"], unit) for end in ("value", "low", "high")}
    if part == "span":
        return units.span(number["low"], number["high"], unit)
    return units.show(number[part], unit)


def usual(place: str, part: str = "value") -> str:
    """Return in words what an unknown of a set-up stands for; `part` as for `assumed`."""
    key, _, name = place.partition(".")
    field, stands = MODEL.part(key).field(name), MODEL.usual[place]
    if part == "span":
        low, high = (field.read(text, {}).value for text in (stands.low, stands.high))
        return units.span(low, high, field.unit)
    return field.read({"value": stands.text, "low": stands.low, "high": stands.high}[part], {}).text


def entry(table: str, column: str, unit: str = "-", places: int | None = None, **key) -> str:
    """Return a number of a published table in words."""
    return units.show(tables.table(table).row(**key)[column], unit, places)


def caution(name: str) -> str:
    """Return a caution, set apart; to a local code go those of this edition."""
    codes = answering.current().codes_sentence if name == "LOCAL_CODE" else ""
    return f"> {units.told(getattr(cautions, name))} {plain_text(codes)}".rstrip()


def plain_text(text: str) -> str:
    """Return a text that Markdown shows as it is, sign by sign."""
    return re.sub(r"([\\`*_{}\[\]()#+.!|<>&~-])", r"\\\1", text)


def own(text: str) -> str:
    """Return a quantity in the words of the club that answers for it."""
    return f"{plain_text(text)} (says {plain_text(edition.current().club)})"


def cause(key: str) -> str:
    """Return what a fault is called."""
    return fault_finder.name(key)


def story(key: str, **case: object) -> str:
    """Return how the fault finder comes to a fault in the usual vehicle: readings, odds, what to do and what not."""
    found = stories.told(key, **case).search
    likeliest = found.suspects[0]
    taken = [f"{n}. {one.probing.title}: **{one.shown}**. {one.tells}" for n, one in enumerate(found.taken, 1)]
    return "\n".join(
        [
            *taken,
            "",
            f"**{likeliest.title}:** {likeliest.odds}.",
            "",
            f"**Do now.** {units.told(' '.join(likeliest.now))}",
            "",
            f"**Do not.** {units.told(' '.join(likeliest.never))}",
        ]
    )


def drop_tests() -> list[dict[str, str]]:
    """Return every drop test that has a limit: between which two points, and the most that may be lost."""
    return [
        {
            "title": fault_words.PLACES[row["place"]].title,
            "red": fault_words.PLACES[row["place"]].red,
            "black": fault_words.PLACES[row["place"]].black,
            "limit": units.show(row["limit"], "V"),
        }
        for row in tables.table("fault_limits").rows
    ]


def picture(name: str) -> str:
    """Return what stands for a picture until the Markdown is HTML."""
    return f"%%picture {name}%%"


def glossary() -> str:
    """Return what stands for the trade's words until the Markdown is HTML."""
    return "%%glossary %%"


PLACES = re.compile(r"<p>%%(picture|glossary) ([a-z-]*)%%</p>")


def placed(place: re.Match) -> str:
    """Return what a place in a guide's HTML was kept for."""
    if place[1] == "picture":
        return pictures.figure(place[2])
    return words.listed({guide.name: guide.title for guide in all_guides()})


EXPRESSIONS = (
    *(value, verdict, gravest, second, reason, given, example, assumed, usual, entry, caution),
    *(cause, story, drop_tests, picture, glossary, own),
)
"""What a guide may call, beside `link` and `page`, which have to know the page they stand on."""


def body(guide: Guide, root: str) -> str:
    """Return a guide's page body as HTML; `root` leads from its page to the site's start.

    Raises
    ------
    Trouble
        where an expression of a club's guide cannot be worked out.
    """
    try:
        return worked_out(guide, root)
    except Exception as problem:
        if not guide.file:
            raise
        said = str(problem).strip().splitlines() or [type(problem).__name__]
        raise Trouble(
            f"{guide.file} holds an expression that cannot be worked out: {said[0]}. One that can: "
            '{{ value("cable-drop", "drop", current="25 A", length="6 m", size="10 mm2") }}.'
        ) from None


def worked_out(guide: Guide, root: str) -> str:
    """Return the same, or raise whatever an expression raises."""

    def link(check_id: str, text: str, **inputs: str) -> str:
        address = f"{root}checks/{check_id}/"
        return f"[{text}](<{address}{'#' + urlencode(inputs, quote_via=quote) if inputs else ''}>)"

    def page(name: str, text: str) -> str:
        return f"[{text}](<{root}{name}/>)"

    environment = ImmutableSandboxedEnvironment(undefined=jinja2.StrictUndefined, autoescape=False)
    environment.globals.update(
        {expression.__name__: expression for expression in EXPRESSIONS} | {"link": link, "page": page}
    )
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(environment.from_string(guide.text).render())
    words.link_first_uses(tokens, guide.name)
    return PLACES.sub(placed, reader.renderer.render(tokens, reader.options, {}))
