"""The command line: `python -m calc`, `python -m calc CHECK --help`, `python -m calc CHECK field=value … [--json]`."""

from __future__ import annotations

import json
import sys
import textwrap

import calc
from calc.check import Answer, Check
from calc.units import shorten

WIDTH = 96
MARK = {"ok": "OK", "caution": "CAUTION", "stop": "STOP"}


def wrap(text: str, indent: str = "  ") -> str:
    """Return a paragraph folded to the width of a terminal."""
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent)


def list_checks() -> str:
    """Return the list of checks."""
    lines = ["Usage: python -m calc CHECK field=value … [--json]", "       python -m calc CHECK --help", ""]
    lines += [f"  {c.id:<18} {c.question}" for c in calc.checks().values()]
    return "\n".join(lines)


def help_text(check: Check) -> str:
    """Return a check's fields, what each takes, and an example."""
    lines = [check.question, wrap(check.about, ""), "", "Fields:"]
    for f in check.fields:
        blank = "must be given" if f.required else f"blank: {f.blank_text}"
        lines.append(f"  {f.name:<20} {f.label} ({f.takes}; {blank})")
        lines.append(wrap(f.help, " " * 23))
    example = " ".join(f'{k}="{v}"' if " " in v else f"{k}={v}" for k, v in check.example.items())
    return "\n".join([*lines, "", "Example:", f"  python -m calc {check.id} {example}"])


def answer_text(answer: Answer) -> str:
    """Return an answer for a terminal: verdicts, values, cautions, then the working."""
    lines = []
    for v in answer.verdicts:
        lines += [wrap(f"{MARK[v.level]}: {v.text}", ""), wrap(v.because)]
    width = max(len(v.label) for v in answer.values.values())
    lines += ["", *(f"  {v.label:<{width}}  {v.text}" for v in answer.values.values()), ""]
    lines += [wrap(f"! {text}", "") for text in answer.cautions]
    lines += ["", "Working:"]
    for n, s in enumerate(answer.steps, 1):
        lines += [wrap(f"{n}. {s.text}"), f"     {s.formula}   [{s.source}]"]
    return "\n".join(lines)


def main(arguments: list[str]) -> int:
    """Run the command line; return its exit code: 0, or 2 for bad input."""
    if not arguments or arguments[0] in ("-h", "--help"):
        print(list_checks())
        return 0
    check_id, *rest = arguments
    try:
        if "--help" in rest or "-h" in rest:
            if check_id not in calc.checks():
                calc.run(check_id, {})
            print(help_text(calc.checks()[check_id]))
            return 0
        as_json = "--json" in rest
        pairs = [word for word in rest if word != "--json"]
        if wrong := [word for word in pairs if "=" not in word]:
            said = f"“{shorten(wrong[0])}” is not of the form field=value, such as current=25A."
            raise calc.InputError({"usage": said})
        answer = calc.run(check_id, dict(word.split("=", 1) for word in pairs))
    except calc.InputError as problem:
        print("\n".join(problem.errors.values()), file=sys.stderr)
        return 2
    print(json.dumps(answer.to_dict(), ensure_ascii=False, indent=2) if as_json else answer_text(answer))
    return 0


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):  # JSON is UTF-8, and Ω and − are no letters of every terminal
        stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    sys.exit(main(sys.argv[1:]))
