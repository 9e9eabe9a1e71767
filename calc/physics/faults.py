"""What can be wrong between two batteries, and what a meter then shows: causes as changes to one circuit.

The circuit: an alternator, through its cable and the engine's earth strap, on the starter battery; from there a fuse,
a cable, the link, a second cable and a second fuse to the second battery, and back through its earth; on the second
battery its loads. A battery is its resting voltage behind a resistance. It takes charge only once it is held above
its resting voltage by what its surface needs, and then behind a larger resistance, which grows as it fills; in
between nothing flows. So the currents at the starter battery are straight lines with corners, and where they balance
is found exactly. A DC-DC charger is a current with a limit on its way out and a power on its way in; it holds back
rather than pull its input below a voltage.

What hangs on nothing reads 0, as a meter with 10 Mohm between its probes shows. A relay and a charger bleed what is
left of their input away, which is how a meter across an open fuse in front of them shows the full voltage.

Range: 12 V batteries, one link, steady states. Tests hold every state to `calc.physics.network.solve`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from calc.physics.fault import internal_resistance
from calc.physics.rest_voltage import curves
from calc.tables import table

NOTHING = math.nan
"""Voltage of a point that hangs on nothing [V]."""

LOWEST, HIGHEST = -60.0, 60.0
"""Ends between which the starter battery's voltage is sought [V]."""

ROUNDS = 40
"""Most rounds in which a charger's current is settled [-]."""

SETTLED = 1e-4
"""A current that changes by no more than this has settled [A]."""

USUAL_RATE = 0.05
"""A load of this many amperes for each ampere-hour makes a battery sag as the table of spreads says [-]."""

CUT_OFF = 1e3
"""What is left between the posts of a battery whose protection has opened [ohm]."""

FULL = 1.03
"""Share of charge at which a battery would take nothing more; at 1 it still takes a little [-]."""

STATES = ("rested", "load-on", "running", "running-load", "lights", "cranking")
"""States of the vehicle in which readings are taken, the easy ones first [-]."""

STILL = ("rested", "load-on")
"""States in which the engine stands [-]."""

ENGINE = ("running", "running-load", "lights")
"""States in which the engine charges [-]."""

NODES = (
    "ground", "alternator +", "alternator -", "starter +", "front fuse", "link in", "link out", "rear fuse",
    "second +", "second -", "load +", "load -", "ignition", "second current", "starter current",
)  # fmt: skip
"""Points that probes touch; ground is the starter battery's minus post, and the bare metal of the body anywhere. The
last two are no points: they are what a clamp meter reads on a battery's minus lead [-]."""

PROBES = {
    "second": ("second +", "second -"),
    "starter": ("starter +", "ground"),
    "alternator": ("alternator +", "alternator -"),
    "link-in": ("link in", "ground"),
    "link-out": ("link out", "ground"),
    "link": ("link in", "link out"),
    "front-fuse": ("starter +", "front fuse"),
    "rear-fuse": ("rear fuse", "second +"),
    "front-cable": ("front fuse", "link in"),
    "run": ("front fuse", "rear fuse"),
    "second-earth": ("second -", "ground"),
    "engine-earth": ("alternator -", "ground"),
    "alternator-cable": ("alternator +", "starter +"),
    "load": ("load +", "load -"),
    "load-plus": ("second +", "load +"),
    "load-minus": ("load -", "second -"),
    "ignition": ("ignition", "ground"),
    "second-drain": ("second current", "ground"),
    "starter-drain": ("starter current", "ground"),
}
"""Red and black probe of each place; of a place whose sign depends on the way of the current, either way round [-]."""

AMPERES = ("second-drain", "starter-drain")
"""Places read in amperes [-]."""

EITHER_SIGN = ("link", "front-fuse", "rear-fuse", "front-cable", "run", "second-earth", "engine-earth")
"""Places across which the current may flow either way [-]."""

Range = tuple[float, float]


@dataclass(frozen=True)
class Vehicle:
    """What is known of a set-up, each number from its least to its most.

    Attributes
    ----------
    link : "none", "wire", "switch", "relay" or "charger" [-]
    return_path : "cable" or "body" [-]
    smart : whether the alternator may be run by the engine's computer [-]
    ignition : whether a charger has an ignition wire: "yes", "no" or "unknown" [-]
    chemistry, starter_chemistry : keys of the chemistries [-]
    capacity, starter_capacity : on the labels [Ah]
    set_point : what the alternator holds [V]
    output : what it can give at a fast idle [A]
    connects_at : of a relay [V]
    rating : of a charger [A]
    profile : voltage that a charger holds [V]
    front_cable, rear_cable : before and behind the link, one way [ohm]
    load : all loads of the second battery together [A]
    """

    link: str
    return_path: str
    smart: bool
    ignition: str
    chemistry: str
    starter_chemistry: str
    capacity: Range
    starter_capacity: Range
    set_point: Range
    output: Range
    connects_at: Range
    rating: Range
    profile: Range
    front_cable: Range
    rear_cable: Range
    load: Range


@dataclass(frozen=True)
class Change:
    """One change that a cause makes: of which attribute of the circuit, how, and from how little to how much."""

    attribute: str
    how: str
    low: float
    high: float


@dataclass(frozen=True)
class Cause:
    """Something that can be wrong.

    Attributes
    ----------
    key : its name; two at once are joined by + [-]
    prior : how often it is met, against the others [-]
    charge, starter_charge : what the batteries hold when it is met [%]
    changes : what it changes in the circuit [-]
    """

    key: str
    prior: float
    charge: Range
    starter_charge: Range
    changes: tuple[Change, ...]


class Circuit:
    """One vehicle with one state of health: every attribute a number, a resistance where nothing else is said [ohm].

    It is made by `healthy`, changed by `broken`, and settled by `prepared`; `at_points` reads it.
    """

    def copy(self) -> Circuit:
        """Return another one that can be changed."""
        other = Circuit()
        other.__dict__.update(self.__dict__)
        return other


@cache
def _spread(key: str) -> tuple[float, float, bool]:
    """Return the ends of a spread, and whether it is even on a logarithmic scale."""
    row = table("fault_spreads").row(key=key)
    return row["low"], row["high"], row["law"] == "log"


def between(share: float, low: float, high: float, log: bool = False) -> float:
    """Return the value that lies at a share of the way from low to high.

    Parameters
    ----------
    share : 0 to 1 [-]
    low, high : ends, above 0 where the way is logarithmic [-]
    log : whether equal steps are equal ratios [-]

    Returns
    -------
    value : in their unit [-]

    Examples
    --------
    >>> between(0.5, 1, 9), round(between(0.5, 1, 9, True), 9)
    (5.0, 3.0)
    """
    return low * (high / low) ** share if log else low + (high - low) * share


def causes(v: Vehicle) -> tuple[Cause, ...]:
    """Return every cause that can be met with a set-up.

    Parameters
    ----------
    v : the set-up [-]

    Returns
    -------
    causes : in the order of the table [-]

    Examples
    --------
    >>> [c.key for c in causes(example_vehicle("relay"))][:4]
    ['nothing', 'front_fuse', 'rear_fuse', 'front_joint']
    """
    there = {
        None: True,
        "lead_acid": v.chemistry != "lfp",
        "lfp": v.chemistry == "lfp",
        "smart": v.smart,
        "ignition": v.ignition != "no",
    }
    return tuple(
        Cause(
            row["key"],
            row["prior"],
            (row["charge_low"], row["charge_high"]),
            (row["starter_low"], row["starter_high"]),
            tuple(change for part in row["key"].split("+") for change in _changes(part)),
        )
        for row in table("fault_causes").rows
        if v.link in row["links"].split() and there[row["needs"] or None]
    )


@cache
def _changes(cause: str) -> tuple[Change, ...]:
    """Return what one cause changes."""
    return tuple(
        Change(row["attribute"], row["how"], row["low"], row["high"])
        for row in table("fault_changes").rows
        if row["cause"] == cause
    )


def example_vehicle(link: str) -> Vehicle:
    """Return a usual set-up with a kind of link, for examples and tests.

    Parameters
    ----------
    link : "none", "wire", "switch", "relay" or "charger" [-]

    Returns
    -------
    vehicle : 100 Ah AGM behind 6 m of 16 mm2, by the body [-]

    Examples
    --------
    >>> example_vehicle("relay").load
    (4.0, 6.0)
    """
    return Vehicle(
        link, "body", True, "unknown", "agm", "calcium", (90.0, 110.0), (60.0, 80.0), (13.9, 14.6), (40.0, 90.0),
        (13.2, 13.5), (25.0, 30.0), (14.2, 14.6), (0.005, 0.009), (0.0004, 0.001), (4.0, 6.0),
    )  # fmt: skip


DIMENSIONS = 36
"""How many numbers from 0 to 1 describe one vehicle and what is wrong with it; the last two say how badly [-]."""


def healthy(v: Vehicle, u: list[float]) -> Circuit:
    """Return one vehicle that is well, as the set-up and the spreads allow.

    Parameters
    ----------
    v : the set-up [-]
    u : DIMENSIONS numbers from 0 to 1 [-]

    Returns
    -------
    circuit : of that vehicle, its batteries' charge still open [-]

    Examples
    --------
    >>> c = healthy(example_vehicle("relay"), [0.5] * DIMENSIONS)
    >>> round(c.front_cable, 4), round(c.load, 2), c.front_open
    (0.0067, 4.9, 0.0)
    """
    c = Circuit()
    c.vehicle = v
    spread = iter(u)

    def draw(key: str) -> float:
        low, high, log = _spread(key)
        return between(next(spread), low, high, log)

    def of(ends: Range, log: bool = False) -> float:
        return between(next(spread), *ends, log)

    c.charge_share, c.starter_share = next(spread), next(spread)
    capacity, starter_capacity = of(v.capacity), of(v.starter_capacity)
    low, _, high = internal_resistance(v.chemistry, capacity)
    c.second_resistance = of((low, high), True)
    low, _, high = internal_resistance(v.starter_chemistry, starter_capacity)
    c.starter_resistance = of((low, high), True)
    c.second_curve, c.starter_curve = draw("curve"), draw("curve")
    c.surface, c.take = draw("surface"), draw("take")
    c.second_sag = draw("sag")
    c.usual_draw = capacity * USUAL_RATE
    c.holds, c.output = of(v.set_point), of(v.output, True)
    c.inside = draw("alternator_inside")
    c.base_load, c.lamps = draw("base_load"), draw("lamps")
    c.rests = draw("smart_rests")
    c.rises = float(next(spread) < _spread("smart_rises")[1])
    c.motor = draw("starter_motor")
    c.front_joint, c.rear_joint = draw("front_joint"), draw("rear_joint")
    c.front_cable, c.rear_cable = of(v.front_cable, True), of(v.rear_cable, True)
    c.link_contact = draw("wire_contact" if v.link == "none" else f"{v.link}_contact")
    c.earth = draw("body_return") if v.return_path == "body" else c.front_cable + c.rear_cable
    c.engine_earth, c.alternator_cable = draw("engine_earth"), draw("alternator_cable")
    c.load = of(v.load, True)
    c.load_plus = c.load_minus = draw("load_drop") / c.load
    c.quiet, c.starter_drain = draw("left_alone"), draw("starter_alone")
    c.meter = draw("meter")
    c.off_voltage = draw("lfp_off")
    _link_of(c, v, next(spread))
    for name in FLAGS:
        setattr(c, name, 0.0)
    return c


FLAGS = (
    "front_open", "rear_open", "link_open", "link_stuck", "charger_dead", "ignition_missing", "alternator_dead",
    "smart_low", "overcharge", "second_lost", "second_cut_off", "left_on", "drain", "overload", "load_open",
)  # fmt: skip
"""What is 0 in a vehicle that is well [-]."""


def _link_of(c: Circuit, v: Vehicle, share: float) -> None:
    """Set what belongs to a relay or a charger; one share serves all, as they matter little."""
    turned = (share * 7.3) % 1
    c.connects_at = between(share, *v.connects_at)
    c.rating, c.profile = between(share, *v.rating), between(turned, *v.profile)
    c.lockout, c.wakes = between(share, *_spread("lockout")[:2]), between(turned, *_spread("wakes")[:2])
    c.efficiency = between((share * 13.7) % 1, *_spread("efficiency")[:2])
    wired = {"yes": 1.0, "no": 0.0}.get(v.ignition)
    c.ignition_wired = float((share * 29.1) % 1 < _spread("ignition_wired")[1]) if wired is None else wired


def broken(c: Circuit, cause: Cause, severities: list[float]) -> Circuit:
    """Return the vehicle with something wrong, ready to be read.

    Parameters
    ----------
    c : a vehicle that is well [-]
    cause : what is wrong [-]
    severities : how badly, from 0 to 1, for its first change, its second, and so on [-]

    Returns
    -------
    circuit : of the vehicle as it then stands [-]

    Examples
    --------
    >>> v = example_vehicle("relay")
    >>> well = healthy(v, [0.5] * DIMENSIONS)
    >>> poor = next(cause for cause in causes(v) if cause.key == "second_earth")
    >>> round(broken(well, poor, [0.5]).earth, 3)
    0.111
    """
    c = c.copy()
    for n, change in enumerate(cause.changes):
        amount = between(severities[n % len(severities)], change.low, change.high, change.low > 0)
        known = getattr(c, change.attribute)
        setattr(c, change.attribute, known * amount if change.how == "times" else known + amount)
    if c.ignition_missing:
        c.ignition_wired = 1.0
    c.charge = between(c.charge_share, *cause.charge)
    c.starter_charge = between(c.starter_share, *cause.starter_charge)
    prepare(c)
    return c


def prepare(c: Circuit) -> None:
    """Record what follows from a circuit's attributes and holds in every state.

    Parameters
    ----------
    c : the circuit, with `charge` and `starter_charge` set [-]

    Examples
    --------
    >>> v = example_vehicle("relay")
    >>> broken(healthy(v, [0.5] * DIMENSIONS), causes(v)[0], [0.5]).link_closes
    True
    """
    v = c.vehicle
    c.behind = c.rear_cable + c.rear_joint + c.earth
    c.second_rest = curves(v.chemistry)[0].voltage(c.charge) + c.second_curve - c.second_lost
    c.starter_rest = curves(v.starter_chemistry)[0].voltage(c.starter_charge) + c.starter_curve
    c.second_take = c.second_resistance * (1 + c.take / (FULL - c.charge / 100))
    c.starter_take = c.starter_resistance * (1 + c.take / (FULL - c.starter_charge / 100))
    c.before = c.front_joint + c.front_cable
    c.whole = not (c.front_open or c.rear_open)
    if c.second_cut_off:
        c.second_rest, c.second_resistance, c.second_take = c.off_voltage, CUT_OFF, CUT_OFF
    if c.alternator_dead:
        c.output = 0.0
    if c.overload:
        supply = c.rating if v.link == "charger" else max(20.0, c.output - c.base_load)
        grown = max(1.0, c.overload * supply / c.load)
        c.load, c.load_plus, c.load_minus = c.load * grown, c.load_plus / grown, c.load_minus / grown
    if v.link == "wire" or c.link_stuck:
        _shared(c)
    c.link_closes = not c.link_open and v.link in ("wire", "switch", "relay")


def _shared(c: Circuit) -> None:
    """Let two batteries that are always joined rest near each other, as they have had a night to do so."""
    if c.whole and not c.second_lost and not c.second_cut_off:
        middle = (c.second_rest + c.starter_rest) / 2
        c.second_rest, c.starter_rest = (middle + (rest - middle) * 0.1 for rest in (c.second_rest, c.starter_rest))


def _inside(c: Circuit, state: str) -> float:
    """Return the voltage inside the second battery in a state [V]."""
    if state in ("load-on", "running-load") and not c.load_open:
        return c.second_rest - c.second_sag * min(1.0, c.load / c.usual_draw)
    return c.second_rest


def _drawn(c: Circuit, state: str) -> tuple[float, float]:
    """Return what the load draws, and what is drawn besides [A]."""
    on = state in ("load-on", "running-load")
    if c.second_cut_off:
        return 0.0, 0.0
    return c.load if on and not c.load_open else 0.0, c.quiet + c.drain + (0.0 if on else c.left_on)


def _alternator(c: Circuit, state: str) -> tuple[float, float, float]:
    """Return what the alternator holds [V], the most it gives, and what the vehicle itself takes [A]."""
    if state not in ENGINE:
        return 0.0, 0.0, c.starter_drain
    lamps = c.lamps if state == "lights" else 0.0
    if c.smart_low and not (lamps and c.rises):
        return c.rests, c.output, c.base_load + lamps
    return c.holds + c.overcharge, c.output, c.base_load + lamps


def _balance(c: Circuit, state: str, joined: bool, pulled: float, e: float, drawn: float) -> tuple[float, float, float]:
    """Return the starter battery's voltage, the alternator's current and the current to the second battery.

    `pulled` is what a charger takes [A]; `e` is the voltage inside the second battery and `drawn` what is taken there.
    """
    holds, limit, taken = _alternator(c, state)
    way = c.inside + c.alternator_cable + c.engine_earth
    rest, full = c.starter_rest, c.starter_rest + c.surface
    gives, takes = c.starter_resistance, c.starter_take
    motor = 1 / (c.motor + c.engine_earth) if state == "cranking" else 0.0
    loop = (c.before + c.link_contact + c.behind) if joined else 0.0
    far_gives, far_takes = loop + c.second_resistance, loop + c.second_take
    low, high = e + loop * drawn, e + c.surface + loop * drawn
    taken += pulled

    def left(u: float) -> float:
        current = -taken - motor * u
        if limit and u < holds:
            given = (holds - u) / way
            current += given if given < limit else limit
        if u < rest:
            current += (rest - u) / gives
        elif u > full:
            current -= (u - full) / takes
        if joined:
            current -= drawn
            if u < low:
                current += (low - u) / far_gives
            elif u > high:
                current -= (u - high) / far_takes
        return current

    corners = [rest, full]
    if limit:
        corners += (holds, holds - limit * way)
    if joined:
        corners += (low, high)
    corners.sort()
    a, at_a = LOWEST, left(LOWEST)
    b, at_b = HIGHEST, left(HIGHEST)
    for corner in corners:
        there = left(corner)
        if there > 0:
            a, at_a = corner, there
        else:
            b, at_b = corner, there
            break
    u = a + (b - a) * at_a / (at_a - at_b)
    given = min(limit, max(0.0, (holds - u) / way)) if limit else 0.0
    through = 0.0
    if joined:
        through = drawn - (low - u) / far_gives if u < low else drawn + max(0.0, (u - high) / far_takes)
    return u, given, through


def _closed(c: Circuit, state: str, e: float, drawn: float) -> bool:
    """Return whether a wire, switch or relay joins the batteries; one that chatters is read while it is closed."""
    kind = c.vehicle.link
    if c.link_stuck or kind == "wire":
        return True
    if not c.link_closes or state not in ENGINE:
        return False
    if kind == "switch":
        return True
    return not c.front_open and _balance(c, state, False, 0.0, e, drawn)[0] >= c.connects_at


def _charger(c: Circuit, state: str, e: float, drawn: float) -> tuple[float, float, bool]:
    """Return what a charger takes and gives [A], and whether it works."""
    if state not in ENGINE or c.charger_dead or c.front_open:
        return 0.0, 0.0, False
    alone, _, _ = _balance(c, state, False, 0.0, e, drawn)
    if c.ignition_missing or not c.ignition_wired and alone < c.wakes or alone < c.lockout:
        return 0.0, 0.0, False
    if c.rear_open:
        return 0.0, 0.0, True
    given = _given(c, e, drawn, math.inf)
    power = given * (_posts(c, e, drawn, given) + given * c.behind) / c.efficiency
    pulled = power / alone
    for _ in range(ROUNDS):
        u, _, _ = _balance(c, state, False, pulled, e, drawn)
        before, pulled = pulled, power / max(u - pulled * c.before, c.lockout)
        if abs(pulled - before) < SETTLED:
            break
    if u - pulled * c.before < c.lockout:
        pulled = _held_back(c, state, e, drawn, pulled)
        given = _given(c, e, drawn, pulled * c.lockout * c.efficiency)
    return pulled, given, True


def _posts(c: Circuit, e: float, drawn: float, given: float) -> float:
    """Return the voltage at the second battery's posts for what a charger gives, 0 where there is none [V]."""
    current = given - drawn
    if current > 0:
        return e + c.surface + current * c.second_take
    if current < 0:
        return e + current * c.second_resistance
    return min(max(c.profile - given * c.behind, e), e + c.surface)


def _given(c: Circuit, e: float, drawn: float, power: float) -> float:
    """Return what a charger gives: up to its rating, its voltage and a power [A], [W]."""
    spare = c.profile - c.behind * drawn
    if spare > e + c.surface:
        given = drawn + (spare - e - c.surface) / (c.behind + c.second_take)
    else:
        given = drawn - max(0.0, e - spare) / (c.behind + c.second_resistance)
    given = min(c.rating, max(0.0, given))
    low, high = 0.0, given
    while high - low > SETTLED and high * (_posts(c, e, drawn, high) + high * c.behind) > power:
        middle = (low + high) / 2
        fits = middle * (_posts(c, e, drawn, middle) + middle * c.behind) <= power
        low, high = (middle, high) if fits else (low, middle)
    return high


def _held_back(c: Circuit, state: str, e: float, drawn: float, most: float) -> float:
    """Return the current that brings a charger's input down to where it holds back [A]."""
    low, high = 0.0, most
    while high - low > SETTLED:
        middle = (low + high) / 2
        u, _, _ = _balance(c, state, False, middle, e, drawn)
        low, high = (middle, high) if u - middle * c.before >= c.lockout else (low, middle)
    return low


def _along(c: Circuit, closed: bool, works: bool, points: tuple[float, float], taken: float, through: float) -> tuple:
    """Return the voltages behind the front fuse, at the link's input and output, and before the rear fuse [V]."""
    kind = c.vehicle.link
    if kind == "none":
        return (NOTHING,) * 4
    u, plus = points
    front, link_in = u - taken * c.front_joint, u - taken * c.before
    rear, link_out = plus + through * c.rear_joint, plus + through * (c.rear_joint + c.rear_cable)
    if c.front_open:
        front = link_in = link_out if closed and not c.rear_open else 0.0 if kind in ("relay", "charger") else NOTHING
    if c.rear_open and kind == "charger":
        rear = link_out = c.profile if works else 0.0
    elif c.rear_open:
        rear = link_out = link_in if closed else NOTHING
    return front, link_in, link_out, rear


def at_points(c: Circuit, state: str) -> list[float]:
    """Return the voltage at every point of NODES in a state, and the two currents out of the batteries.

    Parameters
    ----------
    c : from `broken` [-]
    state : "rested", "load-on", "running", "running-load", "lights" or "cranking" [-]

    Returns
    -------
    points : against ground, in the order of NODES; NOTHING for one that hangs on nothing [V], [A]

    Examples
    --------
    >>> v = example_vehicle("relay")
    >>> c = broken(healthy(v, [0.5] * DIMENSIONS), causes(v)[1], [0.5])
    >>> points = dict(zip(NODES, at_points(c, "running")))
    >>> round(points["starter +"], 2), points["link in"]
    (14.04, 0.0)
    """
    e = _inside(c, state)
    load, besides = _drawn(c, state)
    drawn = load + besides
    kind = c.vehicle.link
    pulled = given = 0.0
    closed = works = False
    if kind == "charger":
        pulled, given, works = _charger(c, state, e, drawn)
    elif kind != "none":
        closed = _closed(c, state, e, drawn)
    joined = closed and c.whole
    u, charged, through = _balance(c, state, joined, pulled, e, drawn)
    if joined:
        posts = u - through * (c.before + c.link_contact + c.behind)
    else:
        through = given
        posts = _posts(c, e, drawn, given) if works and c.whole else e - drawn * c.second_resistance
    taken = pulled if kind == "charger" else through
    minus = through * c.earth
    plus = minus + posts
    motor = u / (c.motor + c.engine_earth) if state == "cranking" else 0.0
    return [
        0.0,
        u + charged * c.alternator_cable,
        (motor - charged) * c.engine_earth,
        u,
        *_along(c, closed, works, (u, plus), taken, through),
        plus,
        minus,
        minus if c.load_open else plus - load * c.load_plus,
        minus + load * c.load_minus,
        u if state in ENGINE and c.ignition_wired and not c.ignition_missing else 0.0,
        drawn - through,
        c.starter_drain + taken,
    ]


def places_in(v: Vehicle) -> tuple[tuple[str, str], ...]:
    """Return every reading that can be taken in a set-up: place and state.

    Parameters
    ----------
    v : the set-up [-]

    Returns
    -------
    readings : in the order of the table [-]

    Examples
    --------
    >>> places_in(example_vehicle("none"))[:3]
    (('second', 'rested'), ('second', 'load-on'), ('load', 'load-on'))
    """
    states = STATES if v.link != "none" else tuple(s for s in STATES if s in STILL)
    return tuple(
        (row["key"], state)
        for row in table("fault_readings").rows
        if row["kind"] == "place" and v.link in row["links"].split()
        for state in row["states"].split()
        if state in states
    )


@cache
def points_of(place: str) -> tuple[int, int]:
    """Return which points of NODES the red and the black probe touch.

    Parameters
    ----------
    place : a key of PROBES [-]

    Returns
    -------
    red, black : their numbers [-], [-]

    Examples
    --------
    >>> [NODES[n] for n in points_of("starter")]
    ['starter +', 'ground']
    """
    red, black = PROBES[place]
    return NODES.index(red), NODES.index(black)


def read(points: list[float], place: str, meter: float = 0.0) -> float:
    """Return what a meter shows at a place.

    Parameters
    ----------
    points : from `at_points` [V], [A]
    place : a key of PROBES [-]
    meter : by what share of its reading it reads high [-]

    Returns
    -------
    reading : red against black [V], [A]

    Examples
    --------
    >>> v = example_vehicle("relay")
    >>> c = broken(healthy(v, [0.5] * DIMENSIONS), causes(v)[1], [0.5])
    >>> round(read(at_points(c, "running"), "front-fuse"), 2)
    14.04
    """
    red, black = points_of(place)
    shown = (points[red] - points[black]) * (1 + meter)
    return shown if shown == shown else 0.0


def drop_limit(place: str, state: str) -> float | None:
    """Return the most that the book lets a drop test lose at a place, from the handbooks.

    Parameters
    ----------
    place : a key of PROBES [-]
    state : a key of STATES; handbooks give no limit here while cranking [-]

    Returns
    -------
    limit : None where it is no drop test, or has no limit [V]

    Examples
    --------
    >>> drop_limit("front-fuse", "running"), drop_limit("second", "running")
    (0.2, None)
    """
    if state == "cranking":
        return None
    return next((row["limit"] for row in table("fault_limits").rows if row["place"] == place), None)
