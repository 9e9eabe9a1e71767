"""What a panel gives through a day: where the sun stands, how clear the sky is, and how the panel lies.

Hours are mean solar hours of the place, 0 to 24: the sun is highest within a quarter of an hour of 12. A clock on the
wrist differs by its zone and by summer time. Nothing here knows longitude or year; both together move the sun by at
most 0.3°. Neither hills nor the bending of light at the horizon count: the sun is up while its centre is above a level
horizon. An eye sees it some minutes longer, in which it gives next to nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from calc.tables import assumption, table

DAYS_BEFORE = 9496.0
"""Days from noon of 1 January 2000 to that of 31 December 2025, in the middle of a round of leap years [-]."""

SOLAR_CONSTANT = 1366.1
"""Sunshine outside the air at the mean distance of the sun, ASTM E490 [W/m2]."""

STANDARD_SUNSHINE = 1000.0
"""Sunshine that a panel's rated power is measured in [W/m2]."""

STANDARD_TEMPERATURE = 25.0
"""Temperature of the cells that its rated power is measured at [degC]."""

TURN = math.pi / 12
"""Angle that the sky turns in an hour [-]."""

EIGHTHS = 8.0
"""Parts that cloud cover is counted in [-]."""

STEPS = 48
"""Pieces between two turns of the day that its energy is summed over; twice as many change it by less than 5e-6 [-]."""


@dataclass(frozen=True)
class Course:
    """How the sun runs on a day.

    Attributes
    ----------
    declination : of the sun at the hour asked for [deg]
    ahead : of the mean solar clock, the equation of time [h]
    strength : of sunshine outside the air, for 1 at the mean distance [-]
    """

    declination: float
    ahead: float
    strength: float


@dataclass(frozen=True)
class Sky:
    """Sunshine of a clear sky at sea level, as functions of the sine of the sun's elevation s.

    beam = outside · exp(−beam_depth / s^beam_exponent), on a surface that faces the sun;
    whole = outside · exp(−whole_depth / s^whole_exponent) · s, on level ground.

    Attributes
    ----------
    outside : sunshine outside the air, raised as the model asks [W/m2]
    beam_depth, beam_exponent, whole_depth, whole_exponent : of the two laws [-]
    """

    outside: float
    beam_depth: float
    beam_exponent: float
    whole_depth: float
    whole_exponent: float


@dataclass(frozen=True)
class Panel:
    """A solar panel and what charges from it.

    Attributes
    ----------
    rated : power on its plate [W]
    tilt : from level, 0 to 90, towards the equator [deg]
    lost : share of the sunshine lost to dirt, slanting light and part shade, 0 to 1 [-]
    efficiency : of the solar controller [-]
    """

    rated: float
    tilt: float
    lost: float
    efficiency: float


@dataclass(frozen=True)
class Day:
    """A day's sun on the panels of a vehicle.

    Attributes
    ----------
    rises, sets : when the sun does; None both where it stays up or down all day; sets is below rises where the sun
        is up at midnight [h]
    turns : rising hours at which the power has an edge: the sun rises, sets, or comes to a panel's front or back [h]
    power : hour of the day [h], air [degC] → what all panels give together at the battery's side [W]
    """

    rises: float | None
    sets: float | None
    turns: tuple[float, ...]
    power: Callable[[float, float], float]


def course(number: float, hour: float) -> Course:
    """Return how the sun runs (the Astronomical Almanac's low-precision sun, as Michalsky 1988 gives it).

    g and L are the mean anomaly and longitude; λ = L + 1.915° sin g + 0.020° sin 2g; sin δ = sin ε sin λ; the sun is
    ahead of the clock by L − α. Good to 0.01° from 1950 to 2050 for a known moment; the day of a year alone fixes
    the sun to 0.3° in declination, at the equinoxes.

    Parameters
    ----------
    number : day of the year, 1 to 366 [-]
    hour : of the day [h]

    Returns
    -------
    course : declination, equation of time and strength [deg], [h], [-]

    Examples
    --------
    >>> round(course(172, 12).declination, 1), round(course(307, 12).ahead * 60, 1)
    (23.4, 16.4)
    """
    days = DAYS_BEFORE + number + (hour - 12) / 24
    anomaly = math.radians(357.528 + 0.9856003 * days)
    mean = 280.460 + 0.9856474 * days
    longitude = math.radians(mean + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2 * anomaly))
    slant = math.radians(23.439 - 4e-7 * days)
    ascension = math.degrees(math.atan2(math.cos(slant) * math.sin(longitude), math.cos(longitude)))
    ahead = (mean - ascension + 180) % 360 - 180
    distance = 1.00014 - 0.01671 * math.cos(anomaly) - 0.00014 * math.cos(2 * anomaly)
    return Course(math.degrees(math.asin(math.sin(slant) * math.sin(longitude))), ahead / 15, 1 / distance**2)


def elevation(latitude: float, number: float, hour: float) -> float:
    """Return how high the sun stands: sin h = sin φ sin δ + cos φ cos δ cos H, H being 0 at the sun's noon.

    Parameters
    ----------
    latitude : −90 to 90, south is negative [deg]
    number : day of the year, 1 to 366 [-]
    hour : of the day [h]

    Returns
    -------
    elevation : of its centre above a level horizon, without the bending of light; below 0 at night [deg]

    Examples
    --------
    >>> round(elevation(50, 80, 12)), round(elevation(-35, 355, 12))
    (40, 78)
    """
    found = course(number, hour)
    phi, delta = math.radians(latitude), math.radians(found.declination)
    angle = TURN * (hour - 12 + found.ahead)
    up = math.sin(phi) * math.sin(delta) + math.cos(phi) * math.cos(delta) * math.cos(angle)
    return math.degrees(math.asin(max(-1.0, min(1.0, up))))


def _sum(part: str, aerosol: float, deep: float) -> float:
    """Return a depth or an exponent of the Solis model, for so many centimetres of water."""
    log = math.log(deep)
    rows = [row for row in table("solis_2008").rows if row["part"] == part]
    return sum(
        aerosol ** row["aerosol"] * (row["constant"] + row["ln_water"] * log + row["ln_water_2"] * log**2)
        for row in rows
    )


def clear_sky(strength: float, aerosol: float, water: float) -> Sky:
    """Return a clear sky at sea level (simplified Solis model, Ineichen 2008).

    The light from the sky is taken as what the whole has beyond the beam. The model's own third law gives a tenth more
    of it while the sun is high and far more near the horizon; a day on a panel would come out 0 to 4 % richer, 7 % in a
    low winter sun. Other skies: a day by Ineichen's model at a turbidity of 3 is within 1 % of this one, by Haurwitz's
    −4 to +5 %; in a northern winter both stray further.

    Parameters
    ----------
    strength : of sunshine outside the air, for 1 at the mean distance [-]
    aerosol : optical depth of haze and dust at 700 nm, 0 to 0.45 [-]
    water : in the air above, were it to rain out, 2 to 100 [mm]

    Returns
    -------
    sky : its two laws [W/m2], [-]

    Examples
    --------
    >>> sky = clear_sky(1, 0.1, 10)
    >>> round(sky.outside * math.exp(-sky.beam_depth)), round(sky.outside * math.exp(-sky.whole_depth))
    (965, 1085)
    """
    deep = water / 10  # the model counts in centimetres
    raised = 0.12 * deep**0.56 * aerosol**2 + 0.97 * deep**0.032 * aerosol + 1.08 * deep**0.0051
    parts = (_sum(part, aerosol, deep) for part in ("beam_depth", "beam_exponent", "global_depth", "global_exponent"))
    return Sky(SOLAR_CONSTANT * strength * raised, *parts)


def cloud_share(eighths: float, overcast: float) -> float:
    """Return the share of a clear sky's sunshine on level ground that comes through clouds: 1 − (1 − o)·(N/8)^3.4.

    Kasten and Czeplak 1980, means of ten years at Hamburg, with o = 0.25. Single hours stray widely from it.

    Parameters
    ----------
    eighths : of the sky that clouds cover, 0 to 8 [-]
    overcast : what comes through a sky all covered, o [-]

    Returns
    -------
    share : 0 to 1 [-]

    Examples
    --------
    >>> round(cloud_share(4, 0.25), 3), cloud_share(8, 0.25)
    (0.929, 0.25)
    """
    return 1 - (1 - overcast) * (eighths / EIGHTHS) ** 3.4


def hours_up(constant: float, swing: float, noon: float) -> tuple[float, float] | None:
    """Return between which hours constant + swing · cos(angle from noon) is above nought, on a clock of 24 hours.

    Parameters
    ----------
    constant, swing : of a sine such as that of the sun's elevation; swing 0 or more [-]
    noon : when it is highest [h]

    Returns
    -------
    hours : first and last, each 0 to 24; None where it never changes sign [h]

    Examples
    --------
    >>> [round(hour, 6) for hour in hours_up(0.0, 0.6, 12.0)]
    [6.0, 18.0]
    >>> hours_up(0.5, 0.3, 12.0) is None
    True
    """
    if abs(constant) >= swing:
        return None
    half = math.acos(-constant / swing) / TURN
    return (noon - half) % 24, (noon + half) % 24


def day(latitude: float, number: float, eighths: float, panels: tuple[Panel, ...]) -> Day:
    """Return a day's sun on panels that face the equator, under an even sky, with light from the ground.

    On a panel: beam · cos of its angle to the sun, plus (1 + cos tilt)/2 of the light from the sky, plus
    (1 − cos tilt)/2 of what the ground throws back. Clouds take the beam in the measure (N/8)² and leave it to the
    sky, as in Kasten and Czeplak's diffuse share, here counted from that of the clear sky. The cells are warmer than
    the air in proportion to the sunshine, and lose power as they warm. The declination is that of the day's noon, which
    is at most 0.1° off while the sun is up; so the power jumps at midnight, but only where the sun is up then.

    Parameters
    ----------
    latitude : −90 to 90, south is negative; at 0 panels face south [deg]
    number : day of the year, 1 to 366 [-]
    eighths : of the sky that clouds cover, 0 to 8 [-]
    panels : all that charge the battery [-]

    Returns
    -------
    day : its hours and its power [h], [W]

    Examples
    --------
    >>> flat = day(50, 172, 0, (Panel(100, 0, 0.1, 0.95),))
    >>> round(flat.rises, 1), round(flat.sets, 1), round(flat.power(12, 20)), flat.power(1, 20)
    (4.0, 20.1, 70, 0.0)
    """
    found = course(number, 12)
    phi, delta, noon = math.radians(latitude), math.radians(found.declination), 12 - found.ahead
    level = math.sin(phi) * math.sin(delta), max(0.0, math.cos(phi)) * math.cos(delta)
    fronts, parts = [], []
    for panel in panels:
        tilt = math.radians(panel.tilt)
        apart = phi - tilt if latitude >= 0 else phi + tilt
        front = math.sin(apart) * math.sin(delta), max(0.0, math.cos(apart)) * math.cos(delta)
        fronts.append(front)
        given = panel.rated / STANDARD_SUNSHINE * (1 - panel.lost) * panel.efficiency
        thrown = assumption("ground_reflection")["value"] * (1 - math.cos(tilt)) / 2
        parts.append((*front, (1 + math.cos(tilt)) / 2, thrown, given, panel.lost))
    edges = [hours_up(*pair, noon) for pair in (level, *fronts)]
    turns = _edges(edges, level, noon)
    rises, sets = edges[0] or (None, None)
    return Day(rises, sets, turns, _power(found.strength, level, noon, eighths, tuple(parts)))


def _edges(edges: list[tuple[float, float] | None], level: tuple[float, float], noon: float) -> tuple[float, ...]:
    """Return the hours at which the sun rises or sets, or comes to a panel's front or back while it is up."""
    constant, swing = level
    own, fronts = edges[0] or (), [hour for pair in edges[1:] if pair for hour in pair]
    seen = [hour for hour in fronts if constant + swing * math.cos(TURN * (hour - noon)) > 1e-9]
    return tuple(sorted({*own, *seen}))


def _power(strength: float, level: tuple, noon: float, eighths: float, parts: tuple) -> Callable[[float, float], float]:
    """Return the power of the panels as a function of hour and air, made of plain floats as it is called most."""
    sky = clear_sky(strength, assumption("sky_aerosol")["value"], assumption("sky_water")["value"])
    outside, beam_depth, beam_power = sky.outside, sky.beam_depth, sky.beam_exponent
    whole_depth, whole_power = sky.whole_depth, sky.whole_exponent
    through = cloud_share(eighths, assumption("sky_overcast")["value"])
    straight = through * (1 - (eighths / EIGHTHS) ** 2)
    warms, fades = assumption("panel_warms")["value"], assumption("panel_fades")["value"]
    constant, swing = level
    cos, exp, turn, standard = math.cos, math.exp, TURN, STANDARD_TEMPERATURE

    def power(hour: float, air: float) -> float:
        height = cos(turn * (hour - noon))
        up = constant + swing * height
        if up <= 0.0:
            return 0.0
        beam = straight * outside * exp(-beam_depth / up**beam_power)
        whole = through * outside * exp(-whole_depth / up**whole_power) * up
        scattered = whole - beam * up
        if scattered < 0.0:
            scattered = 0.0
        total = 0.0
        for front, lean, seen, thrown, given, lost in parts:
            facing = front + lean * height
            shine = scattered * seen + whole * thrown
            if facing > 0.0:
                shine += beam * facing
            gain = 1.0 - fades * (air + warms * (1.0 - lost) * shine - standard)
            if gain > 0.0:
                total += given * shine * gain
        return total

    return power


def energy(sun: Day, air: float) -> float:
    """Return what the panels give in a whole day, by Simpson's rule between the turns of the day.

    The steps lie closer towards the turns, as even steps round a half circle seen from below: power bends most there.

    Parameters
    ----------
    sun : the day [-]
    air : temperature of the air, the same all day [degC]

    Returns
    -------
    energy : at the battery's side, if it takes all [Wh]

    Examples
    --------
    >>> round(energy(day(50, 172, 0, (Panel(100, 0, 0.1, 0.95),)), 20), -1)
    660.0
    """
    edges = (0.0, *sun.turns, 24.0)
    angles = [math.pi * n / STEPS for n in range(STEPS + 1)]
    total = 0.0
    for first, last in zip(edges, edges[1:], strict=False):
        half = (last - first) / 2
        each = [sun.power(first + half * (1 - math.cos(u)), air) * math.sin(u) * half for u in angles]
        total += (each[0] + 4 * sum(each[1:-1:2]) + 2 * sum(each[2:-1:2]) + each[-1]) * math.pi / STEPS / 3
    return total
