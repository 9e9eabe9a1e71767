"""The one renderer: the same templates make the answer on the host, when the site is built, and on the phone."""

from __future__ import annotations

import pkgutil
from functools import cache

import jinja2

from calc import Answer, door
from calc.units import sign

LEVEL_WORDS = {"ok": "Good", "caution": "Take care", "stop": "Stop"}
"""How a verdict's level is said; it is never told by colour alone."""


def load_template(name: str) -> str | None:
    """Return a template's text, from a folder or from the archive on the phone."""
    try:
        return pkgutil.get_data("site_src", f"templates/{name}").decode("utf-8")
    except OSError:
        return None


@cache
def environment() -> jinja2.Environment:
    """Return the templates' environment: everything is escaped, and a missing name is an error."""
    made = jinja2.Environment(
        loader=jinja2.FunctionLoader(load_template),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals["level_words"] = LEVEL_WORDS
    made.filters["sign"] = sign
    made.filters["cell"] = cell
    return made


def cell(value: float | str | None) -> str:
    """Return a table's cell as a reader sees it."""
    return f"{value:g}" if isinstance(value, float) else value or ""


def answer_html(answer: Answer) -> str:
    """Return an answer's verdicts and values, as they stand inside the page's output."""
    return environment().get_template("answer.html").render(answer=answer)


def working_html(answer: Answer) -> str:
    """Return an answer's cautions and its working, which stand below it."""
    return environment().get_template("working.html").render(answer=answer)


def headline(answer: Answer) -> str:
    """Return the answer in one line: its first verdict, or the gravest where that one is worse."""
    gravest = next(v for v in answer.verdicts if v.level == answer.level)
    shown = gravest if answer.level == "stop" else answer.verdicts[0]
    return f"{LEVEL_WORDS[shown.level]}: {shown.text}"


def present(answer: Answer) -> dict[str, str]:
    """Return what the page shows of an answer."""
    return {
        "answer": answer_html(answer),
        "working": working_html(answer),
        "headline": headline(answer),
        "level": answer.level,
    }


def reply(request: str) -> str:
    """Answer a request of the page's worker; see `calc.door.ask`."""
    return door.ask(request, present)
