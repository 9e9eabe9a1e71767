"""Stories of faults: a vehicle with one thing wrong, read as the fault finder asks for it, to where it stops.

The vehicle is the usual one with what a story changes, in the middle of every spread; what its meter shows comes from
`calc.physics.faults`; what is asked next, and what it is taken for, comes from the fault finder itself.
"""

from __future__ import annotations

from functools import cache

import calc
from calc.check import Answer, Inputs
from calc.checks import fault_finder
from calc.physics import diagnosis, faults
from calc.setup.model import SetUp
from calc.setup.usual import usual_set_up

MOST_READINGS = 12
"""A story ends here, whatever is known by then [-]."""

MIDDLE = 0.5
"""The share at which whatever nobody knows lies between its ends [-]."""

PLACES = {
    "link": ("link", 0, "kind"),
    "ignition": ("link", 0, "ignition_sense"),
    "chemistry": ("second", 0, "chemistry"),
}
"""What of the usual vehicle a story may change."""


@cache
def told(cause: str, badly: float = MIDDLE, charged: float = MIDDLE, **changes: str) -> Answer:
    """Return the fault finder's last answer to a vehicle that has something wrong.

    Parameters
    ----------
    cause : key of what is wrong
    badly : how badly, 0 to 1
    charged : what both batteries hold, 0 to 1 of what they may hold when this is met
    changes : of the vehicle, by a name in PLACES
    """
    set_up = usual_set_up()
    for name, text in changes.items():
        set_up = set_up.changed(PLACES[name], text)
    known = vehicle(set_up)
    broken = vehicle_with(known, cause, badly, charged)
    taken: tuple[tuple[diagnosis.Reading, float], ...] = ()
    while len(taken) < MOST_READINGS and (asked := next_reading(known, taken)):
        place, state = asked
        shown = faults.read(faults.at_points(broken, state), place, broken.meter)
        taken += ((asked, round(shown, 2)),)
    texts = [f"{place} {state} {shown:.2f}" for (place, state), shown in taken]
    return calc.run("fault-finder", {"readings": "; ".join(texts)}, set_up)


@cache
def next_reading(known: faults.Vehicle, taken: tuple) -> diagnosis.Reading | None:
    """Return the reading that the fault finder asks for next; None where it stops."""
    found = diagnosis.diagnose(known, dict(taken))
    return None if found.done else found.gains[0][0]


def vehicle(set_up: SetUp) -> faults.Vehicle:
    """Return what the fault finder knows of a set-up."""
    i = Inputs(fault_finder.CHECK.read({}, set_up), set_up)
    return fault_finder.vehicle(set_up, i.link, i.return_path, i.chemistry)


def vehicle_with(known: faults.Vehicle, cause: str, badly: float, charged: float) -> faults.Circuit:
    """Return a vehicle with something wrong."""
    wrong = next(each for each in faults.causes(known) if each.key == cause)
    unknowns = [charged, charged, *[MIDDLE] * (faults.DIMENSIONS - 2)]
    return faults.broken(faults.healthy(known, unknowns), wrong, [badly, badly])
