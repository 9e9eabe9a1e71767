"""Fuses for road vehicles: what they carry, between which times they open, what they can break, where they go."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from calc.physics.interpolate import linear, log_log
from calc.tables import table

FAMILIES = ("blade", "large", "bolt", "strip")
"""Kinds of fuse: blade type C or F, large blade type E, single-bolt type, strip bolted at both ends."""

OVERLOAD_HEADROOM = 1.25
"""A fuse that guards against overload is rated this much above the load [-]. US Navy training text."""

LEGAL_SHARE = 1.5
"""Below 50 V a fuse may be rated this much above the cable's allowed current [-]. 33 CFR 183.455."""

PLAIN_DISTANCE = 7 * 0.0254
"""Farthest a fuse may stand from the source, along the cable [m]. 33 CFR 183.455: 7 in."""

SHEATHED_DISTANCE = 40 * 0.0254
"""The same where the cable is in a sheath or an enclosure all the way [m]. 33 CFR 183.455: 40 in."""


@dataclass(frozen=True)
class Family:
    """A kind of fuse.

    Attributes
    ----------
    key : one of FAMILIES
    part : of ISO 8820
    voltage : it is rated for [V]
    breaking_capacity : the largest current it is made to break at that voltage [A]
    ratings : that are sold, rising [A]
    """

    key: str
    part: int
    voltage: float
    breaking_capacity: float
    ratings: tuple[float, ...]


@cache
def family(key: str) -> Family:
    """Return a kind of fuse by its key; KeyError names what there is not."""
    row = table("iso_8820_families").row(family=key)
    ratings = tuple(r["rating"] for r in table("iso_8820_ratings").rows if r["family"] == key)
    return Family(key, int(row["part"]), row["voltage"], row["breaking_capacity"], ratings)


def colour(key: str, rating: float) -> str | None:
    """Return the colour of a fuse's body, or None where none was found in a text.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]

    Returns
    -------
    colour : its name [-]

    Examples
    --------
    >>> colour("blade", 30)
    'green'
    """
    row = table("iso_8820_ratings").row(family=key, rating=rating)
    return row["colour"] if row["confidence"] == "seen" else None


def breaking_capacity(key: str) -> float:
    """Return the largest current that a kind of fuse is made to break.

    Parameters
    ----------
    key : one of FAMILIES [-]

    Returns
    -------
    current : at its rated voltage [A]

    Examples
    --------
    >>> breaking_capacity("blade")
    1000.0
    """
    return family(key).breaking_capacity


def envelope(key: str, rating: float) -> list[dict]:
    """Return the rows of the opening-time table that hold for a fuse.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]

    Returns
    -------
    rows : percent of the rating, fastest and slowest time, as the table holds them [-]

    Examples
    --------
    >>> envelope("blade", 30)[0]["percent"]
    110.0
    """
    rows = [
        row
        for row in table("iso_8820_time_current").rows
        if row["family"] == key and row["rating_low"] <= rating <= row["rating_high"]
    ]
    if not rows:
        raise ValueError(f"no opening times for rating={rating} A of {key}")
    return rows


@cache
def edges(key: str, rating: float) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
    """Return the points (multiple of the rating [-], time [s]) of the fastest and of the slowest edge.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]

    Returns
    -------
    fastest, slowest : points, rising [-], [s]

    Examples
    --------
    >>> fast, slow = edges("blade", 30)
    >>> slow[0][0] < slow[-1][0]
    True
    """
    rows = envelope(key, rating)
    fast, slow = (tuple((r["percent"] / 100, r[e]) for r in rows if r[e] is not None) for e in ("fastest", "slowest"))
    return fast, slow


def seen_to(key: str, rating: float) -> float:
    """Return up to which multiple of its rating a fuse's opening times were found in a text.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]

    Returns
    -------
    multiple : 0 where all are from memory [-]

    Examples
    --------
    >>> seen_to("blade", 20)
    3.5
    """
    return max((r["percent"] / 100 for r in envelope(key, rating) if r["confidence"] == "seen"), default=0.0)


def on_edge(multiple: float, points: tuple[tuple[float, float], ...]) -> float:
    """Return the time on an edge: straight between its points on log-log axes, of constant I²t beyond the last.

    Beyond the last point a fuse melts before heat leaves it, so I²t settles.

    Parameters
    ----------
    multiple : of the rating [-]
    points : the edge's own, rising: multiple and time [-], [s]

    Returns
    -------
    duration : level before the first point [s]

    Examples
    --------
    >>> on_edge(12, ((1.35, 600.0), (6, 0.1)))
    0.025
    """
    last, time = points[-1]
    if multiple > last:
        return time * (last / multiple) ** 2
    return log_log(multiple, [m for m, _ in points], [t for _, t in points])


def fastest(key: str, rating: float, current: float) -> float:
    """Return the soonest that a fuse may open by its ISO 8820 envelope, at 23 °C.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]
    current : above 0 [A]

    Returns
    -------
    duration : at or below the current it must carry, the time it must carry that for [s]

    Examples
    --------
    >>> round(fastest("blade", 20, 40), 6)
    0.15
    """
    return on_edge(current / rating, edges(key, rating)[0])


def slowest(key: str, rating: float, current: float) -> float | None:
    """Return the latest that a fuse may open by its ISO 8820 envelope, at 23 °C.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]
    current : above 0 [A]

    Returns
    -------
    duration : None where it may never open, which is below 135 % of its rating [s]

    Examples
    --------
    >>> round(slowest("blade", 20, 40), 6)
    5.0
    >>> slowest("blade", 20, 25) is None
    True
    """
    points = edges(key, rating)[1]
    multiple = current / rating
    return on_edge(multiple, points) if multiple >= points[0][0] * (1 - 1e-9) else None


def largest_let_through(key: str, rating: float, low: float, high: float) -> float | None:
    """Return the largest I²t that a fuse may let through at any current of a range, by its slowest edge.

    Between two points of the edge log I²t is straight, so only the ends and the points have to be looked at.

    Parameters
    ----------
    key : one of FAMILIES [-]
    rating : one that is sold [A]
    low, high : the range of current [A]

    Returns
    -------
    let_through : I²t, None where it may never open [A2s]

    Examples
    --------
    >>> round(largest_let_through("blade", 20, 120, 900))
    1440
    """
    corners = [multiple * rating for multiple, _ in edges(key, rating)[1] if low < multiple * rating < high]
    times = {current: slowest(key, rating, current) for current in (low, *corners, high)}
    if None in times.values():
        return None
    return max(current**2 * time for current, time in times.items())


def heat_factor(temperature: float) -> float:
    """Return the share of its rating that a fuse carries for long in warm air, by one maker's row.

    Parameters
    ----------
    temperature : of the air around the fuse, level outside 20 to 125 [degC]

    Returns
    -------
    factor : 0.55 to 1 [-]

    Examples
    --------
    >>> round(heat_factor(65), 3)
    0.85
    """
    rows = table("fuse_sheet_heat")
    carries = rows.column("current")
    return linear(temperature, rows.column("temperature"), carries) / carries[0]


def rating_needed(current: float, temperature: float, headroom: float = OVERLOAD_HEADROOM) -> float:
    """Return the least rating that carries a load for good (US Navy training text, with a maker's heat derating).

    rating = headroom · I / f(T)

    Parameters
    ----------
    current : of the load [A]
    temperature : of the air around the fuse [degC]
    headroom : above the load [-]

    Returns
    -------
    rating : any number, not only one that is sold [A]

    Examples
    --------
    >>> rating_needed(10, 20)
    12.5
    """
    return headroom * current / heat_factor(temperature)


def rating_allowed(allowable: float) -> float:
    """Return the largest rating that the law lets protect a cable below 50 V (33 CFR 183.455).

    Parameters
    ----------
    allowable : current that the cable may carry where it lies [A]

    Returns
    -------
    rating : any number, not only one that is sold [A]

    Examples
    --------
    >>> rating_allowed(120)
    180.0
    """
    return LEGAL_SHARE * allowable


def farthest_from_source(sheathed: bool) -> float:
    """Return how far from the source a fuse may stand, along the cable (33 CFR 183.455).

    Parameters
    ----------
    sheathed : whether the cable is in a sheath or an enclosure all the way [-]

    Returns
    -------
    distance : at most [m]

    Examples
    --------
    >>> round(farthest_from_source(False), 3)
    0.178
    """
    return SHEATHED_DISTANCE if sheathed else PLAIN_DISTANCE


def holder_current(key: str) -> float | None:
    """Return what the heaviest in-line holder found for a kind of fuse carries [A], or None where none is known."""
    return next((row["current"] for row in table("fuse_sheet_holders").rows if row["family"] == key), None)
