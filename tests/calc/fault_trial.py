"""The fault finder against the simulator: who asks in which order, how soon and how often it is right."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from calc.physics import diagnosis
from calc.physics.diagnosis import Diagnosis
from tests.calc import fault_simulator
from tests.calc.fault_simulator import Case

FROM_CHARGE = (
    "starter rested, second rested, starter running, alternator running, second running, link-in running, "
    "link-out running, link running, front-fuse running, rear-fuse running, second-earth running, "
    "front-cable running, run running, ignition running, second load-on, load load-on, second-drain rested, "
    "second running-load, starter lights, starter cranking, engine-earth cranking, alternator-cable running, "
    "load-plus load-on, load-minus load-on, starter-drain rested"
)
FROM_BATTERY = (
    "second rested, second load-on, load load-on, second running, starter running, link-in running, link-out running, "
    "front-fuse running, rear-fuse running, second-earth running, link running, second-drain rested, "
    "second running-load, ignition running, starter lights, alternator running, alternator-cable running, "
    "front-cable running, run running, starter rested, starter cranking, engine-earth running, load-plus load-on, "
    "load-minus load-on, starter-drain rested"
)
BY_DROPS = (
    "second running, starter running, front-fuse running, rear-fuse running, link running, second-earth running, "
    "link-in running, link-out running, front-cable running, run running, second rested, second load-on, load load-on, "
    "second-drain rested, second running-load, ignition running, alternator running, starter lights, "
    "alternator-cable running, engine-earth running, starter cranking, starter rested, load-plus load-on, "
    "load-minus load-on, starter-drain rested"
)
BY_HALVES = (
    "second running, link-in running, link-out running, starter running, front-fuse running, rear-fuse running, "
    "second rested, load load-on, second load-on, second running-load, second-drain rested, second-earth running, "
    "link running, ignition running, front-cable running, run running, starter lights, starter cranking, "
    "alternator running, engine-earth running, alternator-cable running, starter rested, load-plus load-on, "
    "load-minus load-on, starter-drain rested"
)
FIXED = {
    "along the current": FROM_CHARGE,
    "from the battery": FROM_BATTERY,
    "drop tests first": BY_DROPS,
    "by halves": BY_HALVES,
}
"""Orders in which handbooks and fitters go, each as place and state."""

Chooser = Callable[[Diagnosis], tuple[str, str]]


def most_telling(d: Diagnosis) -> tuple[str, str]:
    """Return the reading that the finder asks for."""
    return d.gains[0][0]


def in_order(text: str) -> Chooser:
    """Return a chooser that goes down a list, and takes what is left by the table's order after it."""
    wanted = [tuple(one.split()) for one in text.split(", ")]

    def choose(d: Diagnosis) -> tuple[str, str]:
        left = {reading for reading, _ in d.gains}
        return next((reading for reading in wanted if reading in left), min(left))

    return choose


@dataclass(frozen=True)
class Outcome:
    """How one search went: the case, what was said after each reading, and whether any reading could tell."""

    case: Case
    said: tuple[Diagnosis, ...]
    tellable: bool

    @property
    def readings(self) -> int:
        """How many were taken."""
        return len(self.said) - 1

    @property
    def named(self) -> str:
        """The cause that ranked first in the end."""
        return self.said[-1].odds[0][0]

    @property
    def right(self) -> bool:
        """Whether that is the true one."""
        return self.named == self.case.cause


def follow(case: Case, choose: Chooser) -> tuple[Diagnosis, ...]:
    """Return what is said after each reading, until the finder would stop."""
    taken: dict = {}
    said = [diagnosis.diagnose(case.set_up, taken)]
    while not said[-1].done:
        reading = choose(said[-1])
        taken[reading] = case.ask(*reading)
        said.append(diagnosis.diagnose(case.set_up, taken))
    return tuple(said)


def trial(seed: int, set_ups: int, each: int, choosers: dict[str, Chooser]) -> Iterator[dict[str, Outcome]]:
    """Yield, for one broken vehicle after the other, how the search goes by every chooser."""
    rng = np.random.default_rng(seed)
    for v in fault_simulator.set_ups(rng, set_ups):
        for _ in range(each):
            case = fault_simulator.case(rng, v)
            told = fault_simulator.tellable(case)
            yield {name: Outcome(case, follow(case, choose), told) for name, choose in choosers.items()}


def summary(outcomes: list[Outcome]) -> dict[str, float]:
    """Return share right and numbers of readings, of the cases that any reading could tell."""
    could = [o for o in outcomes if o.tellable]
    taken = [o.readings for o in could]
    return {
        "cases": len(outcomes),
        "tellable": len(could),
        "first": float(np.mean([o.right for o in could])),
        "median": float(np.median(taken)),
        "mean": float(np.mean(taken)),
        "sure": float(np.mean([o.said[-1].sure for o in could])),
    }


BINS = (0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.75, 0.85, 0.9, 0.95, 1.0)


def reliability(outcomes: list[Outcome]) -> list[tuple[float, float, int, float, float]]:
    """Return by bins of stated odds: ends, how many were stated, their mean, and the share that was true."""
    stated = [
        (chance, key == o.case.cause)
        for o in outcomes
        for d in o.said[1:]
        for key, chance in d.odds
        if chance > BINS[0]
    ]
    table = []
    for low, high in zip(BINS, BINS[1:], strict=False):
        inside = [(chance, true) for chance, true in stated if low < chance <= high]
        if inside:
            chances, trues = zip(*inside, strict=True)
            table.append((low, high, len(inside), float(np.mean(chances)), float(np.mean(trues))))
    return table


def confusion(outcomes: list[Outcome]) -> list[tuple[str, str, int]]:
    """Return what was taken for what, the commonest first, of the cases that any reading could tell."""
    taken = Counter((o.case.cause, o.named) for o in outcomes if o.tellable and not o.right)
    return [(true, named, count) for (true, named), count in taken.most_common()]


def by_cause(outcomes: list[Outcome]) -> list[tuple[str, int, float, float]]:
    """Return for every cause: how many cases, share right, median of readings."""
    causes = Counter(o.case.cause for o in outcomes if o.tellable)
    rows = []
    for cause, count in causes.most_common():
        mine = [o for o in outcomes if o.tellable and o.case.cause == cause]
        rows.append(
            (cause, count, float(np.mean([o.right for o in mine])), float(np.median([o.readings for o in mine])))
        )
    return rows
