"""What must the meter read at every point, and does it?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output, Place, Sheet
from calc.checks import fault_finder
from calc.checks import fault_words as words
from calc.checks.fault_finder import HIGHEST, backwards, lower, said
from calc.fields import Choice
from calc.physics.expected import Expected, expected
from calc.physics.faults import AMPERES, ENGINE, Vehicle
from calc.readings import Reading
from calc.shared_fields import LEAD_ACID
from calc.tables import table
from calc.units import show

Key = tuple[str, str]
"""Place and state."""

WALK = (
    "starter", "alternator", "alternator-cable", "engine-earth", "front-fuse", "front-cable", "run", "link-in", "link",
    "link-out", "ignition", "rear-fuse", "second", "second-earth", "load", "load-plus", "load-minus", "starter-drain",
    "second-drain",
)  # fmt: skip
"""Places in the order of a walk around the vehicle, from the engine to the loads."""

ORDER = ("rested", "cranking", "running", "lights", "running-load", "load-on")
"""States in the order in which a vehicle comes through them with one start of its engine."""

SECOND, ALL = "second", "all"
LEFT_TO_STARTING = ("cranking", "lights")
"""States that belong to starting and lamps, and not to the second battery."""

WRITE = ""
"""A cell to be written in by hand."""

PASS, AGAIN = "pass", "look again"
NO_BREAK = "\u00a0"
EITHER = f"{PASS} / {AGAIN.replace(' ', NO_BREAK)}"
"""What became of a reading; both where it is still to be taken."""

MOST_NAMED = 8
"""Readings to look at again that are named one by one."""

FINDER = (
    "The question “What is wrong, by a few meter readings?” goes on from here: give the fault finder the same "
    "readings, and it says what is likeliest and what to read next."
)


@dataclass(frozen=True)
class Row:
    """A reading on the sheet: place and state, what to expect, and what was read; None where nothing was."""

    key: Key
    expected: Expected
    reading: Reading | None

    @property
    def taken(self) -> float | None:
        """What counts of what was read: a number, and with the meter's leads the right way round."""
        if self.reading is None or self.reading.value is None:
            return None
        return abs(self.reading.value) if backwards(self.reading) else self.reading.value

    @property
    def passes(self) -> bool | None:
        """Whether it passes; None where it is still to be taken."""
        return None if self.taken is None else self.expected.allows(self.taken)

    @property
    def result(self) -> str:
        """The same in words."""
        return {None: EITHER, True: PASS, False: AGAIN}[self.passes]

    @property
    def place(self) -> Place:
        """Where the reading is entered."""
        return Place(" ".join(self.key), name(self.key), unit(self.key), self.reading.plain if self.reading else "")

    def cells(self) -> tuple[str, ...]:
        """Return the row as it stands in its table."""
        read = WRITE if self.taken is None else show(self.taken, unit(self.key), 2)
        return words.PLACES[self.key[0]].title, should(self.key, self.expected), read, self.result


def unit(key: Key) -> str:
    """Return what a place is read in."""
    return "A" if key[0] in AMPERES else "V"


def should(key: Key, e: Expected) -> str:
    """Return what a reading should be, in words: the usual, and between what it may lie."""
    usual = show(max(e.usual, 0.0), unit(key), 2)
    if e.drop:
        return f"{usual}; up{NO_BREAK}to{NO_BREAK}{show(e.high, unit(key), 2)}"
    return f"{usual}; {show(e.low, '-', 2)}{NO_BREAK}to{NO_BREAK}{show(e.high, unit(key), 2)}"


def on_the_sheet(v: Vehicle, key: Key) -> bool:
    """Return whether a reading belongs on the sheet.

    Across an open link there is only the difference of two batteries, which tells nothing of either; and whether there
    is an ignition wire has to be known.
    """
    place, state = key
    return not (place == "link" and state not in ENGINE) and not (place == "ignition" and v.ignition != "yes")


def rows(v: Vehicle, extent: str, given: dict[Key, Reading]) -> list[Row]:
    """Return the rows of the sheet in the order of the walk; a reading that was taken always has one."""
    found = expected(v)
    wanted = [key for key in found if on_the_sheet(v, key) and (extent == ALL or key[1] not in LEFT_TO_STARTING)]
    wanted += [key for key, one in given.items() if key in found and one.value is not None and key not in wanted]
    wanted.sort(key=lambda key: (ORDER.index(key[1]), WALK.index(key[0])))
    return [Row(key, found[key], given.get(key)) for key in wanted]


def compute(i: Inputs, found: Findings) -> None:
    """Fill in the sheet, and judge the readings that were taken."""
    v = fault_finder.vehicle(i.set_up, i.link, i.return_path, i.chemistry)
    given = list(i.readings.taken) if i.readings else []
    there = [r for r in given if r.key in expected(v)]
    sheet = rows(v, i.extent, {r.key: r for r in i.readings.all} if i.readings else {})
    judge(sheet, found)
    judge_readings(given, there, found)
    judge_vehicle(v, sheet, found)
    record(sheet, found)
    found.sheets += [state_sheet(state, sheet) for state in ORDER if any(row.key[1] == state for row in sheet)]
    found.sheets += [signed(i), probes(sheet)]
    working(v, sheet, found)
    warn(i, sheet, found)


def name(key: Key) -> str:
    """Return what a reading is called."""
    return f"{words.PLACES[key[0]].title}, {words.STATES[key[1]].title}"


def judge(sheet: list[Row], found: Findings) -> None:
    """Say how it stands: what passes, what to look at again, and how much is left to read."""
    failed = [row for row in sheet if row.passes is False]
    passed = [row for row in sheet if row.passes]
    left = len(sheet) - len(failed) - len(passed)
    if failed:
        found.verdict("caution", f"Look again at {counted(len(failed))} of {len(passed) + len(failed)}.", FINDER)
    elif left and passed:
        found.verdict(
            "ok",
            f"{counted(len(passed)).capitalize()} taken, and all pass; {left} {'is' if left == 1 else 'are'} left.",
            "Go on down the sheet. It is signed when all are taken.",
        )
    elif passed:
        found.verdict("ok", f"All {len(passed)} readings pass.", "Date and sign the sheet, and keep it in the vehicle.")
    else:
        found.verdict(
            "ok",
            f"{counted(left).capitalize()} to take, from rest to full load: write each beside what it should be.",
            "Work from top to bottom: the engine is started once, and the loads are switched on twice.",
        )
    for row in failed[:MOST_NAMED]:
        found.verdict(
            "caution",
            f"Look again: {lower(said(row.key, row.taken))}.",
            f"It should be {should(row.key, row.expected).split('; ')[1]}. " + fault_finder.instruction(*row.key),
        )


def counted(number: int) -> str:
    """Return a number of readings in words."""
    return f"{number} reading{'' if number == 1 else 's'}"


def judge_readings(given: list[Reading], there: list[Reading], found: Findings) -> None:
    """Say which readings cannot be."""
    for r in given:
        if r not in there:
            found.verdict("caution", f"{name(r.key)}: there is no such reading in this set-up.", "It does not count.")
        elif backwards(r):
            found.verdict(
                "caution",
                words.REVERSED.format(reading=lower(said(r.key, r.value))),
                "Red goes to plus, black to minus.",
            )
        if r.unit == "V" and abs(r.value) > HIGHEST:
            found.verdict(
                "stop", words.HIGH_SYSTEM.format(reading=said(r.key, r.value)), "Find out which before you go on."
            )


def judge_vehicle(v: Vehicle, sheet: list[Row], found: Findings) -> None:
    """Say what of this very vehicle makes its readings differ from the common ones."""
    above = [row for row in sheet if row.expected.above_limit and row.key[1] != "running-load"]
    if above:
        which = ", ".join(dict.fromkeys(lower(words.PLACES[row.key[0]].title) for row in above))
        found.verdict(
            "ok",
            f"More than the handbooks' limit may be lost here, though all is well: {which}.",
            "It comes of how this vehicle is wired, or of how little is known of it; the sheet allows for it. The more "
            "of the vehicle you describe, the closer the sheet looks.",
        )
    if v.smart and any(row.key[1] in ENGINE for row in sheet):
        found.verdict(
            "ok",
            "A smart alternator may rest below 13 V although all is well.",
            "If it does, switch the headlamps on, wait a minute and read again.",
        )


def record(sheet: list[Row], found: Findings) -> None:
    """Record the values of the answer."""
    passes = [row.passes for row in sheet]
    found.value("readings", len(sheet))
    found.value("readings_taken", len(sheet) - passes.count(None))
    found.value("passed", passes.count(True))
    found.value("look_again", passes.count(False))
    for row in sheet:
        output = {("second", "rested"): "second_rested", ("second", "running"): "second_running"}.get(row.key)
        if output:
            e = row.expected
            found.value(output, e.usual, e.low, e.high, should(row.key, e).replace("; ", " (") + ")")


def state_sheet(state: str, sheet: list[Row]) -> Sheet:
    """Return the readings of one state as a table."""
    title = words.STATES[state].title
    here = [row for row in sheet if row.key[1] == state]
    return Sheet(
        title[0].upper() + title[1:],
        ("Where", "Should read", "Read", "Result"),
        tuple(row.cells() for row in here),
        words.STATES[state].how,
        places=tuple(row.place for row in here),
    )


def signed(i: Inputs) -> Sheet:
    """Return the foot of the sheet."""
    missing = len(i.set_up.missing())
    rows = (
        ("Set-up", i.set_up.name or WRITE),
        ("Assumed in it", f"{missing} entries" if missing else "nothing"),
        ("Date", WRITE),
        ("Initials", WRITE),
        ("Meter", WRITE),
        ("Remarks", WRITE),
    )
    return Sheet("Signed", ("What", "Entry"), rows)


def probes(sheet: list[Row]) -> Sheet:
    """Return where the probes go."""
    places = dict.fromkeys(row.key[0] for row in sheet)
    ordered = sorted(places, key=WALK.index)

    def cells(place: str) -> tuple[str, ...]:
        at = words.PLACES[place]
        return at.title, at.red, at.black or "a clamp meter for direct current, its arrow away from the battery"

    return Sheet("Where the probes go", ("Where", "Red", "Black"), tuple(map(cells, ordered)), pocket=False)


def working(v: Vehicle, sheet: list[Row], found: Findings) -> None:
    """Show how the sheet comes about."""
    found.step(
        "Each reading in many vehicles that are well and differ in all that the set-up leaves open; the ends leave out "
        "one in fifty on each side and allow for the meter",
        f"{len(sheet)} readings, battery {show(v.capacity[0], '-', 0)} to {show(v.capacity[1], 'Ah', 0)}",
        "memory",
    )
    places = {row.key[0] for row in sheet}
    for row in table("fault_limits").rows:
        if row["place"] in places:
            found.step(
                f"{words.PLACES[row['place']].title}: most that may be lost",
                f"{show(row['limit'], 'V', 2)}: {row['words']}",
                row["source"],
            )
    found.step("Every voltage by the laws of the circuit, at what flows in that state", "ΣI = 0, U = R·I", "ohm")


def warn(i: Inputs, sheet: list[Row], found: Findings) -> None:
    """Record the cautions, of all work on batteries first."""
    found.caution(cautions.SHORT_CIRCUIT)
    for row in sheet:
        found.caution(*words.STATES[row.key[1]].cautions, *words.PLACES[row.key[0]].cautions)
    found.caution(cautions.GAS if i.chemistry in LEAD_ACID else cautions.LITHIUM_COLD)
    found.caution(cautions.LOCAL_CODE)


CHECK = Check(
    id="commissioning-sheet",
    title="Commissioning sheet",
    question="What must the meter read at every point, and does it?",
    about="A sheet to fill in on a walk around the vehicle, once the work is done: at rest, with the engine running, "
    "with the loads on. Enter the readings in it and see which pass, or print it and write them in.",
    task="vehicle",
    fields=(
        replace(
            fault_finder.READINGS,
            label="Readings taken",
            help="Each in its place in the sheet below, or all here: place, state and what the meter showed, parted by "
            "semicolons; the fault finder takes the same line",
        ),
        Choice(
            "extent",
            "What is read",
            "Starting and lamps need a helper who turns the key",
            SECOND,
            SECOND,
            ((SECOND, "What the second battery needs"), (ALL, "Starting and lamps too")),
        ),
        *fault_finder.OF_THE_VEHICLE,
    ),
    outputs=(
        Output("readings", "number", "Readings on the sheet"),
        Output("readings_taken", "number", "Taken"),
        Output("passed", "number", "Pass"),
        Output("look_again", "number", "Look again"),
        Output("second_rested", "voltage", "Second battery at rest"),
        Output("second_running", "voltage", "Second battery, engine running", always=False),
    ),
    compute=compute,
    example={
        "readings": "starter rested 12.6 V; second rested 12.7 V; starter running 14.1 V; second running 13.2 V; "
        "front-fuse running 0.04 V; rear-fuse running 0.71 V",
    },
    example_story="A usual vehicle with a relay, read half the way round; one joint loses too much.",
    cases=(
        Cases(
            "What the second battery should read with the engine running, in a usual vehicle",
            (("Relay", {"link": "relay"}), ("Hand switch", {"link": "switch"}), ("DC-DC charger", {"link": "charger"})),
            (("AGM", {"chemistry": "agm"}), ("Flooded", {"chemistry": "flooded"}), ("LFP", {"chemistry": "lfp"})),
            "second_running",
        ),
    ),
    guides=("voltage-drops", "reading-a-battery", "fitted-by-somebody-else", "faults-on-the-way"),
    starts=fault_finder.STARTS,
    whole=True,
    prints=("page", "pocket"),
)
