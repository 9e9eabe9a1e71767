"""The command line.

python -m calc                                           lists the checks
python -m calc CHECK --help                              lists a check's fields
python -m calc CHECK field=value … [--json]              answers
python -m calc CHECK --setup FILE field=value … [--json] answers from a set-up
python -m calc set-up --help                             lists what a set-up holds
python -m calc set-up FILE                               reads a set-up
python -m calc … --region REGION                         says quantities as a region does
"""

from __future__ import annotations

import json
import sys
import textwrap
from pathlib import Path

import calc
from calc import edition
from calc.check import Answer, Check, Sheet
from calc.region import METRIC, REGIONS, Region
from calc.setup import consistency, file, link
from calc.setup.model import MODEL, Model, SetUp, SetUpError
from calc.setup.telling import telling
from calc.units import shorten, told

WIDTH = 96
SET_UP = "set-up"
MARK = {"ok": "OK", "caution": "CAUTION", "stop": "STOP"}


def wrap(text: str, indent: str = "  ") -> str:
    """Return a paragraph folded to the width of a terminal."""
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def list_checks() -> str:
    """Return the list of checks."""
    lines = [
        "Usage: python -m calc CHECK [--setup FILE] [--region REGION] field=value … [--json]",
        "       python -m calc CHECK --help",
        "",
    ]
    lines += [f"  {c.id:<18} {c.question}" for c in calc.checks().values()]
    lines += [f"  {SET_UP:<18} What does this set-up hold? (with --help: its parts and fields; with FILE: reads it)"]
    return "\n".join(lines)


def help_text(check: Check) -> str:
    """Return a check's fields, what each takes, and an example."""
    lines = [check.question, wrap(check.about, ""), "", "Fields:"]
    for f in check.fields:
        blank = "must be given" if f.required else f"blank: {f.blank_text}"
        lines.append(f"  {f.name:<20} {f.label} ({f.takes}; {blank})")
        lines.append(wrap(told(f.help), " " * 23))
    example = " ".join(f'{k}="{v}"' if " " in v else f"{k}={v}" for k, v in check.example.items())
    return "\n".join([*lines, "", "Example:", f"  python -m calc {check.id} {example}"])


def answer_text(answer: Answer) -> str:
    """Return an answer for a terminal: verdicts, values, cautions, then the working."""
    lines = [wrap(answer.about, ""), ""] if answer.about else []
    for v in answer.verdicts:
        lines += [wrap(f"{MARK[v.level]}: {v.text}", ""), wrap(v.because)]
    width = max(len(v.label) for v in answer.values.values())
    lines += ["", *(f"  {v.label:<{width}}  {v.text}" for v in answer.values.values()), ""]
    for sheet in answer.sheets:
        lines += [*sheet_text(sheet), ""]
    lines += [wrap(f"! {text}", "") for text in answer.cautions]
    lines += ["", "Working:"]
    for n, s in enumerate(answer.steps, 1):
        lines += [wrap(f"{n}. {s.text}"), f"     {s.formula}   [{s.source}]"]
    return "\n".join(lines)


def sheet_text(sheet: Sheet) -> list[str]:
    """Return a table of an answer for a terminal, its columns under one another."""
    widths = [max(map(len, column)) for column in zip(sheet.headings, *sheet.rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(n) for cell, n in zip(row, widths, strict=True)) for row in (sheet.headings, *sheet.rows)
    ]
    return [wrap(f"{sheet.title}:", ""), *(f"  {line.rstrip()}" for line in lines)]


def set_up_help(model: Model = MODEL) -> str:
    """Return the parts and fields of a set-up."""
    lines = ["A set-up is a JSON file; each entry is text as it is typed, “?” or left out where it is not known.", ""]
    for part in model.parts:
        lines.append(f"{part.key}: {part.title}" + (f" (up to {part.many})" if part.many > 1 else ""))
        lines += [f"  {f.name:<20} {f.label} ({f.takes})" for f in part.fields]
    return "\n".join(lines)


def set_up_text(set_up: SetUp) -> str:
    """Return what a set-up holds: entries, what is assumed, what does not go together, and its link."""
    lines = [set_up.name or "A set-up with no name", ""]
    for place in set_up.places():
        known = set_up.known(*place)
        lines.append(f"  {known.label}: {known.entry.text}{' (assumed)' if known.assumed else ''}")
    unread = [f"! Not read, so the usual value stands. {p.part}: {p.sentence}" for p in set_up.problems()]
    odd = [wrap(text, "") for text in (*unread, *(f"! {note.text}" for note in consistency.notes(set_up)))]
    return "\n".join([*lines, *([""] if odd else []), *odd, "", f"Link: #set-up={link.to_link(set_up)}"])


def read_set_up(path: str) -> SetUp:
    """Return the set-up in a file, or raise InputError with a sentence."""
    try:
        with Path(path).open(encoding="utf-8") as opened:
            text = opened.read(file.LARGEST + 1)
    except UnicodeDecodeError:
        raise calc.InputError({"setup": f"The file “{shorten(path)}” is not a set-up: it is not plain text."}) from None
    except (OSError, ValueError):
        raise calc.InputError({"setup": f"The file “{shorten(path)}” cannot be read: is it there?"}) from None
    try:
        return file.from_file(text)
    except SetUpError as problem:
        raise calc.InputError({"setup": str(problem)}) from None


def missing_text(check: Check, inputs: dict[str, str], set_up: SetUp, found: Answer) -> str:
    """Return what of a set-up is assumed, the most telling first."""
    unknown = telling(check, inputs, set_up, found)
    lines = ["", "Assumed, the most telling first:"] if unknown else []
    for one in unknown:
        effect = f" [{one.effect}]" if one.effect else ""
        lines.append(wrap(f"{one.known.label}: {one.known.entry.text}{effect}. {one.known.usual.find}."))
    return "\n".join(lines)


def option(words: list[str], name: str, what: str, example: str) -> str | None:
    """Take an option and its value out of the words, and return the value; `what` it names, and an example."""
    for n, word in enumerate(words):
        if word == name:
            if n + 1 == len(words):
                raise calc.InputError({"usage": f"Name {what} after {name}, such as {name} {example}."})
            del words[n]
            return words.pop(n)
        if word.startswith(f"{name}="):
            return words.pop(n).partition("=")[2]
    return None


def ask(check_id: str, words: list[str]) -> str:
    """Return a check's answer to what was typed, or raise InputError."""
    path = option(words, "--setup", "a file", "van.json")
    as_json = "--json" in words
    pairs = [word for word in words if word != "--json"]
    if wrong := [word for word in pairs if "=" not in word]:
        said = f"“{shorten(wrong[0])}” is not of the form field=value, such as current=25A."
        raise calc.InputError({"usage": said})
    set_up = read_set_up(path) if path is not None else None
    inputs = dict(word.split("=", 1) for word in pairs)
    found = calc.run(check_id, inputs, set_up)
    if as_json:
        return json.dumps(found.to_dict(), ensure_ascii=False, indent=2)
    return answer_text(found) + (missing_text(calc.checks()[check_id], inputs, set_up, found) if set_up else "")


def region_of(words: list[str]) -> Region:
    """Take the region out of the words, and return it."""
    key = option(words, "--region", "a region", "north-america")
    if key is not None and key not in REGIONS:
        raise calc.InputError(
            {"usage": f"There is no region “{shorten(key)}”; there are {', '.join(REGIONS)}, such as --region europe."}
        )
    return REGIONS[key] if key is not None else METRIC


def reply(arguments: list[str]) -> str:
    """Return what the command line prints, or raise InputError."""
    words = list(arguments)
    with edition.used(edition.Edition(region=region_of(words))):
        return reply_in_region(words)


def reply_in_region(arguments: list[str]) -> str:
    """Return the same, said as this region does."""
    wants_help = bool({"-h", "--help"} & set(arguments))
    words = [word for word in arguments if word not in ("-h", "--help")]
    if not words:
        return list_checks()
    name, *rest = words
    if name == SET_UP:
        if len(rest) > 1 and not wants_help:
            raise calc.InputError({"usage": f"Name one file after {SET_UP}, such as {SET_UP} van.json."})
        return set_up_text(read_set_up(rest[0])) if rest and not wants_help else set_up_help()
    if name not in calc.checks():
        calc.run(name, {})
    return help_text(calc.checks()[name]) if wants_help else ask(name, rest)


def main(arguments: list[str]) -> int:
    """Run the command line; return its exit code: 0, or 2 for bad input."""
    try:
        print(reply(arguments))
    except calc.InputError as problem:
        print("\n".join(problem.errors.values()), file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):  # JSON is UTF-8, and Ω and − are no letters of every terminal
        stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        sys.exit(main(sys.argv[1:]))
    except BrokenPipeError:  # the reader, such as head, has seen enough
        sys.stdout = None
