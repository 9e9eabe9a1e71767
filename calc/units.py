"""Units at the border: text in, a float in the field's own unit out, and back to words.

Inside the house every quantity is a plain float in the one unit that `calc.glossary` gives it.
Only here does pint take part, on a registry trimmed to what the trade writes (`units.txt`).
"""

from __future__ import annotations

import math
import pkgutil
import re
from functools import lru_cache

from calc import edition

LONGEST_ENTRY = 60
"""Characters that are read of one entry; the longest sensible one is about 20."""

SMALLEST_SHOWN = 1e-9
"""A value nearer to nought than this is shown as nought, where no decimals are set."""

SIGNS = {
    "degC": "°C", "degF": "°F", "mm2": "mm²", "cm2": "cm²", "in2": "in²", "m3": "m³", "ohm": "Ω", "mohm": "mΩ",
    "A2s": "A²s", "deg": "°", "year": "years", "day": "days",
    "percent": "%", "min": "min", "m3/h": "m³/h", "ohm/km": "Ω/km", "-": "",
}  # fmt: skip
"""How a unit is written for a reader, where that differs from its plain name."""

COUNTED = ("year", "day")
"""Units that are words: one of them is written without the s."""

SPELLINGS = {
    "%": "percent", "°C": "degC", "ºC": "degC", "°F": "degF", "ºF": "degF", "deg C": "degC", "deg F": "degF",
    "degrees C": "degC", "degrees F": "degF", "c": "degC", "f": "degF", "degc": "degC", "degf": "degF",
    "'": "ft", '"': "in", "′": "ft", "″": "in", "sq mm": "mm2", "a": "A", "v": "V", "w": "W", "ah": "Ah",
    "AH": "Ah", "amps": "A", "volts": "V", "mins": "min", "hrs": "h", "hours": "h", "secs": "s", "Ohm": "ohm",
    "Ohms": "ohm", "mOhm": "mohm", "milliohms": "mohm", "metres": "m", "pc": "percent", "H": "h", "M": "m",
}  # fmt: skip
"""Spellings people use, and the registry's own."""

ENTRY = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,4})?)\s*(.*)", re.DOTALL)
UNIT_WORD = re.compile(r"[A-Za-zµμΩ²³°23_/]{1,24}")
SPACES_AND_JOINERS = "\u00a0\u2007\u2009\u202f\u3000\u200c\u200d"
"""Characters that show nothing and yet belong in plain text: fixed spaces, and what joins letters and signs."""

AMBIGUOUS_COMMA = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


class UnitsError(ValueError):
    """An entry that is no quantity of the wanted kind; its text is a sentence for the reader."""


@lru_cache(maxsize=1)
def registry():
    """Return the project's pint registry, built once."""
    import pint

    lines = pkgutil.get_data("calc", "units.txt").decode("utf-8").splitlines()
    return pint.UnitRegistry(lines, cache_folder=None, on_redefinition="ignore")


def tidy(text: object) -> str:
    """Return the entry as plain text: one kind of space, one kind of minus, no edges."""
    try:
        text = str(text)
    except ValueError:  # an integer of thousands of digits
        text = "(a very long number)"
    return re.sub(r"\s+", " ", text.replace("−", "-").replace("\u00a0", " ")).strip()


def printable(text: str) -> bool:
    """Return whether a text holds nothing but characters that belong in plain text."""
    return all(c.isprintable() or c in SPACES_AND_JOINERS for c in text)


def shorten(text: object, longest: int = 24) -> str:
    """Return the entry short enough to be quoted back in a sentence."""
    plain = "".join(c for c in tidy(text) if c.isprintable())
    return plain if len(plain) <= longest else plain[: longest - 1] + "…"


def parse_number(text: str) -> tuple[float, str]:
    """Split an entry into its number and the text after it.

    Raises
    ------
    UnitsError
        if it does not begin with a number, or the number is ambiguous or not finite.
    """
    plain = tidy(text)
    if len(plain) > LONGEST_ENTRY:
        raise UnitsError(f"“{shorten(plain)}” is too long to read")
    match = ENTRY.fullmatch(plain)
    if not match:
        raise UnitsError(f"“{shorten(plain)}” does not start with a number")
    digits, rest = match.groups()
    if AMBIGUOUS_COMMA.fullmatch(digits):
        whole, part = digits.split(",")
        raise UnitsError(f"“{digits}” can be read two ways; write {whole}{part} or {whole}.{part}")
    number = float(digits.replace(",", "."))
    if not math.isfinite(number):
        raise UnitsError(f"“{shorten(digits)}” is too large a number")
    return number, rest.strip()


def unit_of(text: str):
    """Return the pint unit that a text names, or raise UnitsError."""
    word = SPELLINGS.get(text, text)
    try:
        if not UNIT_WORD.fullmatch(word):
            raise ValueError
        return registry().Unit(word)
    except Exception:
        raise UnitsError(f"“{shorten(text)}” is not a unit used here") from None


@lru_cache(maxsize=512)
def convert(number: float, unit: str, into: str) -> float:
    """Return a number of one unit in another.

    Parameters
    ----------
    number : the magnitude [-]
    unit, into : names of units, such as "ft" and "m"; any spelling a reader may use

    Raises
    ------
    UnitsError
        if a unit is unknown or the two measure different things.
    """
    if unit == into:
        return number
    source, target = unit_of(unit), unit_of(into)
    if source.dimensionality != target.dimensionality:
        raise UnitsError(f"“{shorten(unit)}” measures {kind_of(source)}")
    try:
        return float(registry().Quantity(number, source).to(target).magnitude)
    except Exception:  # a temperature among the factors, "deg deg degF", which no rule converts
        raise UnitsError(f"“{shorten(unit)}” is not a unit used here") from None


def same_kind(unit: str, other: str) -> bool:
    """Return whether two units measure the same thing."""
    return unit_of(unit).dimensionality == unit_of(other).dimensionality


KINDS = {
    "ampere": "a current", "volt": "a voltage", "ohm": "a resistance", "meter": "a length", "second": "a time",
    "gram": "a mass", "degC": "a temperature", "mm2": "an area", "watt": "a power", "Ah": "a charge",
    "Wh": "an energy", "liter": "a volume", "percent": "a share",
}  # fmt: skip


def kind_of(unit) -> str:
    """Say in words what a pint unit measures."""
    for name, words in KINDS.items():
        if registry().Unit(name).dimensionality == unit.dimensionality:
            return words
    return "something else"


def sign(unit: str) -> str:
    """Return the unit as a reader sees it: degC → °C."""
    return SIGNS.get(unit, unit)


def shown_in(unit: str) -> str:
    """Return the unit in which this edition's region says what is computed in `unit`."""
    return edition.current().region.units.get(unit, unit)


def show(value: float, unit: str = "-", places: int | None = None, digits: int = 3) -> str:
    """Return a value in words, with its unit, as the region says it.

    Parameters
    ----------
    value : the magnitude, in `unit`
    unit : name of the unit, "-" for none
    places : decimals to show; None for significant digits
    digits : how many significant digits, where no decimals are asked for

    Examples
    --------
    >>> show(0.91234, "V", 2).replace("\\u00a0", " ")
    '0.91 V'
    >>> show(1234.5, "A").replace("\\u00a0", " ")
    '1230 A'
    """
    said = shown_in(unit)
    return worked(value if said == unit else convert(value, unit, said), said, places, digits)


def worked(value: float, unit: str = "-", places: int | None = None, digits: int = 3) -> str:
    """Return the same in the unit it is worked out in, wherever the book is read: for the result of a formula."""
    if places is None:
        value = value if abs(value) >= SMALLEST_SHOWN else 0.0
        size = math.floor(math.log10(abs(value))) if value else 0
        value = round(value, digits - 1 - size)
        text = f"{value:.{max(0, digits - 1 - size)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    else:
        text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.replace("-", "")
    text = text.replace("-", "−")
    mark = unit if unit in COUNTED and text == "1" else sign(unit)
    gap = "" if mark == "°" else "\u00a0"
    return f"{text}{gap}{mark}" if mark else text


def span(low: float, high: float, unit: str = "-", places: int | None = None, between: str = "to") -> str:
    """Return a range in words, its unit said once.

    Examples
    --------
    >>> span(0.1, 60, "m").replace("\\u00a0", " ")
    '0.1 to 60 m'
    """
    return f"{show(convert(low, unit, shown_in(unit)), '-', places)} {between} {show(high, unit, places)}"


PLAIN = r"[-−]?\d+(?:\.\d+)?"
SAID = re.compile(
    rf"(?P<number>{PLAIN})(?: (?P<between>to|or) (?P<other>{PLAIN}))?[ \u00a0](?P<unit>°C|m|cm²)(?![\w²³])"
)
SIGNED = {"°C": "degC", "m": "m", "cm²": "cm2"}
"""A temperature, a length or an opening as fixed sentences write it, and the units there."""


def told(text: str) -> str:
    """Return a sentence of the book's own, which names a temperature or a length, as the region says it.

    For fixed words only, such as a caution or a field's help: what is computed goes through `show`, and what a reader
    typed is left alone.

    Examples
    --------
    >>> told("An engine bay counts as at least 50 °C")
    'An engine bay counts as at least 50 °C'
    """

    def again(found: re.Match) -> str:
        unit = SIGNED[found["unit"]]
        if shown_in(unit) == unit:
            return found[0]
        number, other = (float(n.replace("−", "-")) if n else None for n in found.group("number", "other"))
        places = 0 if unit == "degC" else None
        if other is None:
            return show(number, unit, places)
        return span(number, other, unit, places, found["between"])

    return SAID.sub(again, text)
