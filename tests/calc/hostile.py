"""Random and hostile requests to the one door, and a judge of its replies. Seeded: one seed, one set of requests.

It needs nothing but the book's own code, so that it also runs in the phone's Python.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from random import Random

import calc
from calc.fields import Choice, Field, Number, Size
from calc.setup import demos, file, link
from calc.units import show
from site_src.render import reply

TEXTS = (
    "",
    " ",
    "   \t\n ",
    "abc",
    "twelve",
    "-1",
    "−5 A",
    "-1e9",
    "1e9",
    "999999999",
    "1e400",
    "-1e400",
    "1e-400",
    "5e-324",
    "nan",
    "NaN",
    "inf",
    "-Infinity",
    "5 kg",
    "5 l",
    "5 furlongs",
    "5 A V",
    "5 A/V",
    "5 A**9",
    "12,3",
    "1,000",
    "1.000,5",
    "1,2,3",
    "1_000",
    "12V..",
    "12..3",
    "1 2",
    "..",
    ",",
    "+",
    "-",
    "%",
    "0x10",
    "1/0",
    "9**9**9 A",
    "9" * 400,
    "0" * 60 + "1",
    "x" * 10_000,
    "12 " + "A" * 5000,
    "A" * 5000,
    "1" + " " * 9000 + "A",
    "<script>alert(1)</script>",
    "12<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "{{7*7}}",
    "%s%s%n",
    "'; DROP TABLE checks; --",
    "__import__('os').system('id')",
    "os.system",
    "__class__",
    "🔋",
    "12 🔋",
    "\u202e12 A",
    "12\u202e A",
    "\u200f25",
    "\u200b25",
    "\ufeff25 A",
    "\x00",
    "12\x00A",
    "\x1b[31m12",
    "\ud800",
    "12 \udfff",
    "٣",
    "１２",
    "Ⅻ",
    "½",
    "1²",
    "12 °",
    "12 deg",
    "12 degK",
    "12 K",
    "none",
    "None",
    "null",
    "true",
    "undefined",
    "[]",
    "1 AWG AWG",
    "99 AWG",
    "6 AWG SAE",
    "7 mm",
    "0 mm2",
    "-6 mm2",
    "1e9 mm2",
)
"""Entries that nobody should type, and somebody will."""

LETTERS = "0123456789.,+-eE %°AVWhmkΩ²'\"<>&;{}()[]\\/\x00\u00a0\u202eé½🔋"
MARKUP = ("<script>", "<img src=x onerror=alert(1)>", '"><svg onload=alert(1)>', "</output><iframe src=//x>", "<b>x")
SHOWN_AS_MARKUP = ("answer", "pictures", "working", "drawing", "notes", "summary", "missing", "table", "code")
"""What of a reply the page puts in as markup; all else it puts in as text."""

NEVER_OURS = {"script", "img", "iframe", "b", "object", "embed", "style", "form", "base", "meta", "link"}
LONGEST_SENTENCE = 500

SHARE_OF_WHOLE = 0.03
"""Of questions about a whole vehicle, each of which follows it through days."""

# Requests


def requests(seed: int, count: int) -> Iterator[dict]:
    """Yield requests: most ask a check, some open a link or a file."""
    dice = Random(seed)
    kinds: list[Callable[[Random], dict]] = [ask_check] * 8 + [open_link, open_file]
    for _ in range(count):
        yield dice.choice(kinds)(dice)


def ask_check(dice: Random) -> dict:
    """Return a question: its example with some entries changed, or all of them, or fields that there are not."""
    about_whole = dice.random() < SHARE_OF_WHOLE
    check = dice.choice([check for check in calc.checks().values() if check.whole == about_whole])
    inputs = dict(check.example)
    changed = dice.sample(check.fields, min(len(check.fields), dice.choice((1, 1, 1, 2, 3, len(check.fields)))))
    for field in changed:
        inputs[field.name] = entry(field, dice)
    if dice.random() < 0.02:
        inputs[hostile(dice)[:100]] = "1"
    asked = {"check": check.id if dice.random() < 0.99 else hostile(dice), "inputs": inputs}
    return asked | {"set_up": set_up_text(dice)} if dice.random() < 0.1 else asked


def open_link(dice: Random) -> dict:
    """Return a share link to open: a good one, one that was harmed, or none."""
    good = link.to_link(demos.demo(dice.choice(demos.NAMES)))
    return {"do": "open", "link": dice.choice((good, harmed(good, dice), harmed(good, dice), hostile(dice)))}


def open_file(dice: Random) -> dict:
    """Return a file of a set-up to look at."""
    return {"do": "look", "set_up": set_up_text(dice)}


def set_up_text(dice: Random) -> str:
    """Return the text of a set-up's file: with hostile entries, harmed, or none."""
    data = json.loads(demos.text(dice.choice(demos.NAMES)))
    for _ in range(dice.randrange(4)):
        part = dice.choice([key for key, value in data.items() if isinstance(value, dict | list)])
        one = data[part] if isinstance(data[part], dict) else dice.choice(data[part])
        one[dice.choice([*one, "constructor"])] = hostile(dice)
    text = json.dumps(data)
    return dice.choice((text, text, harmed(text, dice), hostile(dice)))


def entry(field: Field, dice: Random) -> str:
    """Return an entry of a field: right, at or past its limits, harmed, or nothing it could mean."""
    kind = dice.random()
    if kind < 0.35:
        return written(field, dice)
    if kind < 0.6:
        return harmed(written(field, dice), dice)
    return hostile(dice)


def written(field: Field, dice: Random) -> str:
    """Return an entry of the field's own grammar."""
    if isinstance(field, Number):
        return quantity(field, dice)
    if isinstance(field, Choice):
        return dice.choice([key for key, _ in field.options] + [label for _, label in field.options])
    if isinstance(field, Size):
        return dice.choice(("0.5 mm2", "16 mm2", "95 mm²", "120", "6 AWG", "4/0 AWG", "2 SAE", "6 mm", "6 B&S"))
    return dice.choice((field.example, field.default or "", harmed(field.example, dice)))


def quantity(field: Number, dice: Random) -> str:
    """Return a number with or without its unit: within the limits, at them, or just past them."""
    low, high = field.limits
    span = high - low
    value = dice.choice((low, high, low + span * dice.random(), low + span * dice.random() ** 8, low - span / 1e6))
    number = dice.choice((f"{value:.4g}", repr(value), f"{value:.3e}", f"{value:.2f}", show(value)))
    if dice.random() < 0.2:
        number = number.replace(".", ",")
    return number + dice.choice(("", " ", "  ", "\u00a0")) + dice.choice(("", *field.units)).removeprefix("-")


def hostile(dice: Random) -> str:
    """Return an entry that means nothing good."""
    return dice.choice((dice.choice(TEXTS), dice.choice(MARKUP), letters(dice), dice.choice(TEXTS) + letters(dice)))


def letters(dice: Random) -> str:
    """Return letters at random."""
    return "".join(dice.choices(LETTERS, k=dice.randrange(40)))


def harmed(text: str, dice: Random) -> str:
    """Return a text with a few letters lost, doubled, swapped in or put in, or with markup in it."""
    for _ in range(dice.randint(1, 3)):
        at = dice.randrange(len(text) + 1)
        put = dice.choice(("", text[at : at + 1] * 2, dice.choice(LETTERS), dice.choice(MARKUP)))
        text = text[:at] + put + text[at + dice.randrange(3) :]
    return text


# Judging


def harm(asked: dict) -> str | None:
    """Return a sentence that says what is wrong with the reply to a request, or None."""
    return judged(asked)[1]


def judged(asked: dict) -> tuple[dict, str | None]:
    """Return the reply to a request, and a sentence that says what is wrong with it, or None."""
    try:
        told = json.loads(reply(json.dumps(asked)), parse_constant=no_number)
        if "answer" in told and not calc.checks()[asked["check"]].whole:
            told["plain"] = calc.run(asked["check"], asked["inputs"], set_up_in(asked)).to_dict()
    except Exception as problem:  # noqa: BLE001 — any is the fault that is looked for
        return {}, f"{type(problem).__name__}: {problem}"
    return told, next(filter(None, (of_value(told), of_markup(told), of_sentences(told))), None)


def set_up_in(asked: dict):
    """Return the set-up that a request brings, or None."""
    return file.from_file(asked["set_up"]) if asked.get("set_up") else None


def no_number(name: str) -> None:
    """Refuse what JSON has no number for."""
    raise ValueError(f"the reply holds {name}")


def of_value(told: object) -> str | None:
    """Return what is wrong with the numbers of a reply."""
    if isinstance(told, dict):
        told = list(told.values())
    if isinstance(told, list):
        return next(filter(None, map(of_value, told)), None)
    return None if not isinstance(told, float) or math.isfinite(told) else f"the reply holds {told}"


def of_markup(told: dict) -> str | None:
    """Return what is wrong with the markup of a reply."""
    for key in SHOWN_AS_MARKUP:
        reader = Reader()
        reader.feed(told.get(key, "") if isinstance(told.get(key, ""), str) else "")
        if reader.found:
            return f"{key} holds {reader.found}"
    return None


class Reader(HTMLParser):
    """Looks for markup that is not the book's, and for numbers that are none."""

    def __init__(self):
        super().__init__()
        self.found = ""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag in NEVER_OURS or any(name.startswith("on") for name, _ in attributes):
            self.found = f"<{tag} {attributes}>"
        for name, text in attributes:
            if name in ("value", "d", "x", "y", "points") and set((text or "").lower().split()) & {
                "nan",
                "inf",
                "-inf",
            }:
                self.found = f"{name}={text}"


def of_sentences(told: dict) -> str | None:
    """Return what is wrong with the sentences of a reply."""
    errors = told.get("errors") or {}
    for sentence in [*(errors.values() if isinstance(errors, dict) else ()), *filter(None, [told.get("error")])]:
        if not 10 < len(sentence) <= LONGEST_SENTENCE or "Traceback" in sentence or "\n" in sentence:
            return f"a sentence is {sentence[:LONGEST_SENTENCE]!r}"
    return None


def harms(seed: int, count: int) -> list[tuple[str, dict]]:
    """Return every harm that a number of requests did, with the request."""
    return [(found, asked) for asked in requests(seed, count) if (found := harm(asked))]
