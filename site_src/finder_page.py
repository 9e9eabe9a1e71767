"""What the page shows of a search for a fault: the reading to take next with its drawing, those taken, the causes."""

from __future__ import annotations

from markupsafe import Markup

from calc import units
from calc.check import Probing, Search
from calc.checks.fault_finder import in_hundred
from calc.checks.fault_words import PLACES, STATES
from site_src import probes
from site_src.templating import rendered

UNITS = {"V": ("V", "mV"), "A": ("A", "mA")}
"""What a meter may show, its usual unit first."""


def question_html(search: Search, vehicle: str, wanted: str | None = None, told: str = "") -> str:
    """Return the guided part of the page.

    Parameters
    ----------
    search : how far it has come
    vehicle : what it is about, in a sentence
    wanted : key of the reading that the reader wants to take or change; the best one where it is None or not there
    told : what is said aloud once it stands there
    """
    probing = chosen(search, wanted)
    given, unit = shown_of(search, probing)
    return rendered(
        "finder_question.html",
        search=search,
        vehicle=vehicle,
        told=told,
        probing=probing,
        chosen=wanted is not None,
        number=number_of(search, probing),
        given=given,
        unit=unit,
        units=UNITS[probing.unit] if probing else (),
        others=[other for other in search.ahead if other is not probing],
        picture=Markup(probes.svg(probing, search.link, search.return_path)) if probing else "",
    )


def chosen(search: Search, wanted: str | None) -> Probing | None:
    """Return the reading that is asked for, or the best one; None where none is left."""
    known = (*search.ahead, *(one.probing for one in search.taken), *search.skipped)
    return next((one for one in known if one.key == wanted), search.ahead[0] if search.ahead else None)


def number_of(search: Search, probing: Probing | None) -> int:
    """Return which reading this is, counted from the first one taken."""
    taken = [one.probing for one in search.taken]
    return taken.index(probing) + 1 if probing in taken else len(taken) + 1


def shown_of(search: Search, probing: Probing | None) -> tuple[str, str]:
    """Return the number and the unit that were given for a reading that is changed; for a new one no number."""
    for one in search.taken:
        if one.probing is probing:
            number, _, unit = one.plain.removeprefix(one.probing.key).strip().rpartition(" ")
            return number, unit
    return "", probing.unit if probing else ""


def points_of(search: Search) -> list[dict]:
    """Return every place of a set-up with its probes, and what each reading there shows where all is well."""
    found = {}
    for one in search.ahead:
        words = PLACES[one.place]
        point = {"title": words.title, "red": words.red, "black": words.black, "readings": []}
        found.setdefault(one.place, point)["readings"].append((one.state, one.healthy))
    for point in found.values():
        point["readings"] = [(STATES[s].title, healthy) for s, healthy in sorted(point["readings"], key=standing)]
    return [found[place] for place in PLACES if place in found]


def standing(reading: tuple[str, str]) -> int:
    """Return where a state comes among all states."""
    return list(STATES).index(reading[0])


def causes_html(search: Search) -> str:
    """Return the causes with their odds, the likeliest first."""
    rest = 1 - sum(suspect.chance for suspect in search.suspects)
    suspects = [(suspect, f"{100 * suspect.chance:.1f}") for suspect in search.suspects]
    return rendered("finder_causes.html", suspects=suspects, rest=in_hundred(max(rest, 0.0)))


def misread(typed: str) -> str:
    """Return a sentence on what cannot be a meter's reading; "" where the number itself can be read.

    Examples
    --------
    >>> misread("12,4 V"), misread("abc")[:5]
    ('', '“abc”')
    """
    try:
        units.parse_number(typed)
    except units.UnitsError as problem:
        said = str(problem)
        return f"{said[0].upper()}{said[1:]}. Type what the meter shows, such as 12.4 or −0.3."
    return ""
