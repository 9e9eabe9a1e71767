"""The one renderer: the same templates make the answer on the host, when the site is built, and on the phone."""

from __future__ import annotations

from markupsafe import Markup

import calc
from calc import Answer, door
from calc.legs import Journey
from calc.readings import Readings
from site_src import finder_page, set_up_page
from site_src.drawing import description, drawing
from site_src.plot import WIDTH, readings, svg
from site_src.templating import LEVEL_WORDS, rendered


def answer_html(answer: Answer) -> str:
    """Return an answer's verdicts and values, as they stand inside the page's output."""
    return rendered("answer.html", answer=answer)


def working_html(answer: Answer) -> str:
    """Return an answer's cautions and its working, which stand below it."""
    return rendered("working.html", answer=answer)


def pictures_html(answer: Answer, fills: bool = True) -> str:
    """Return an answer's plots and tables, its design drawn, and the causes of its search.

    Where it `fills`, its sheets take readings; those of a worked example do not.
    """
    plots = [
        {"key": f"plot-{n}", "plot": plot, "picture": Markup(svg(plot, f"plot-{n}")), "readings": readings(plot)}
        for n, plot in enumerate(answer.plots)
    ]
    design = (Markup(drawing(answer.design, "design")), description(answer.design)) if answer.design else None
    causes = finder_page.causes_html(answer.search) if answer.search else ""
    if not (plots or design or answer.sheets):
        return causes
    pictures = rendered("pictures.html", plots=plots, design=design, width=WIDTH, sheets=answer.sheets, fills=fills)
    return causes + pictures


def guided_html(answer: Answer, wanted: str | None = None) -> str:
    """Return what guides a reader through a search; `wanted` is the reading that is asked for."""
    texts = [entry.text for name, entry in answer.inputs.items() if name != "readings"]
    vehicle = ", ".join(
        text[0].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text for text in texts
    )
    return finder_page.question_html(answer.search, vehicle, wanted, headline(answer))


def headline(answer: Answer) -> str:
    """Return the answer in one line: its first verdict, or the gravest where that one is worse."""
    gravest = next(v for v in answer.verdicts if v.level == answer.level)
    shown = gravest if answer.level == "stop" else answer.verdicts[0]
    return f"{LEVEL_WORDS[shown.level]}: {shown.text}"


def present(answer: Answer, wanted: str | None = None) -> dict[str, str]:
    """Return what the page shows of an answer; `wanted` is the reading that a search's reader asks for."""
    return {
        "answer": answer_html(answer),
        "pictures": pictures_html(answer),
        "working": working_html(answer),
        "headline": headline(answer),
        "level": answer.level,
        **({"plain": plain} if (plain := plain_texts(answer)) else {}),
        **({"guided": guided_html(answer, wanted)} if answer.search else {}),
    }


def plain_texts(answer: Answer) -> dict[str, str]:
    """Return the trips and readings among an answer's inputs in the one spelling that the page can take apart."""
    values = {name: entry.value for name, entry in answer.inputs.items()}
    trips = {name: value.typed for name, value in values.items() if isinstance(value, Journey)}
    return trips | {name: value.plain for name, value in values.items() if isinstance(value, Readings)}


def do_answer(asked: dict) -> dict:
    """Answer a check for its page; with a set-up, say what it started from and what it can be written into."""
    set_up = door.set_up_of(asked)
    check_id, inputs = str(asked["check"]), dict(asked["inputs"])
    try:
        found = calc.run(check_id, inputs, set_up)
    except calc.InputError as problem:
        if misread := finder_page.misread(str(asked.get("typed", "0"))):
            return {"errors": problem.errors, "misread": misread}
        if not set_up or check_id not in calc.checks():
            raise
        return {"errors": problem.errors, "starts": set_up_page.of_form(calc.checks()[check_id], inputs, set_up)}
    shown = present(found, asked.get("wanted"))
    if not set_up:
        return shown
    return shown | set_up_page.of_answer(calc.checks()[check_id], inputs, set_up, found)


DOERS = {
    "answer": do_answer,
    "look": set_up_page.look,
    "open": set_up_page.open_,
    "compare": set_up_page.compare,
    "card": set_up_page.card,
    "write": set_up_page.write,
    "code": set_up_page.code,
}
"""Everything that a page may ask of the engine."""


def reply(request: str) -> str:
    """Do what a page's worker asks; see `calc.door.ask`."""
    return door.ask(request, DOERS)
