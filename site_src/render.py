"""The one renderer: the same templates make the answer on the host, when the site is built, and on the phone."""

from __future__ import annotations

from markupsafe import Markup

import calc
from calc import Answer, door
from site_src import set_up_page
from site_src.drawing import description, drawing
from site_src.plot import svg
from site_src.templating import LEVEL_WORDS, rendered


def answer_html(answer: Answer) -> str:
    """Return an answer's verdicts and values, as they stand inside the page's output."""
    return rendered("answer.html", answer=answer)


def working_html(answer: Answer) -> str:
    """Return an answer's cautions and its working, which stand below it."""
    return rendered("working.html", answer=answer)


def pictures_html(answer: Answer) -> str:
    """Return an answer's plots, and its design drawn."""
    plots = [(plot.title, Markup(svg(plot, f"plot-{n}")), plot.words) for n, plot in enumerate(answer.plots)]
    design = (Markup(drawing(answer.design, "design")), description(answer.design)) if answer.design else None
    return rendered("pictures.html", plots=plots, design=design) if plots or design else ""


def headline(answer: Answer) -> str:
    """Return the answer in one line: its first verdict, or the gravest where that one is worse."""
    gravest = next(v for v in answer.verdicts if v.level == answer.level)
    shown = gravest if answer.level == "stop" else answer.verdicts[0]
    return f"{LEVEL_WORDS[shown.level]}: {shown.text}"


def present(answer: Answer) -> dict[str, str]:
    """Return what the page shows of an answer."""
    return {
        "answer": answer_html(answer),
        "pictures": pictures_html(answer),
        "working": working_html(answer),
        "headline": headline(answer),
        "level": answer.level,
    }


def do_answer(asked: dict) -> dict:
    """Answer a check for its page; with a set-up, say what it started from and what it can be written into."""
    set_up = door.set_up_of(asked)
    check_id, inputs = str(asked["check"]), dict(asked["inputs"])
    try:
        found = calc.run(check_id, inputs, set_up)
    except calc.InputError as problem:
        if not set_up:
            raise
        return {"errors": problem.errors, "starts": set_up_page.of_form(calc.checks()[check_id], inputs, set_up)}
    if not set_up:
        return present(found)
    return present(found) | set_up_page.of_answer(calc.checks()[check_id], inputs, set_up, found)


DOERS = {
    "answer": do_answer,
    "look": set_up_page.look,
    "open": set_up_page.open_,
    "compare": set_up_page.compare,
    "write": set_up_page.write,
    "code": set_up_page.code,
}
"""Everything that a page may ask of the engine."""


def reply(request: str) -> str:
    """Do what a page's worker asks; see `calc.door.ask`."""
    return door.ask(request, DOERS)
