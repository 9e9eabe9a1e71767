"""What is wrong, by a few meter readings?"""

from __future__ import annotations

from dataclasses import replace

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output, Probing, Search, Suspect, Taken
from calc.checks import fault_words as words
from calc.physics import cable, diagnosis
from calc.physics.charging import BASE_TEMPERATURE, stage_voltage
from calc.physics.diagnosis import Diagnosis, Particles, Told
from calc.physics.faults import AMPERES, EITHER_SIGN, Range, Vehicle, drop_limit
from calc.readings import EXAMPLE, Reading, ReadingsField
from calc.setup import starts
from calc.setup.model import SetUp
from calc.setup.parts import LINK, VEHICLE
from calc.shared_fields import CHEMISTRY, LEAD_ACID
from calc.tables import table
from calc.units import show

LISTED = 5
"""Causes that an answer names."""

SLIGHT = 0.02
"""A cause less likely than this is not named, the first ones apart."""

REASONS = 4
"""Readings that are quoted for a cause, and against it."""

TELLING = 1.5
"""A reading this many times as likely with a cause as without it speaks for it."""

BACKWARDS = -0.3
"""Below this a reading that should be above 0 has its leads reversed [V]."""

HIGHEST = 18.0
"""No 12 V system reads above this, even overcharged [V]. Common practice, no source."""

NEXT_TO_NOTHING = 0.5
"""[V]"""

FITS = 20.0
"""A doubted reading fits another place if it is this many times as likely there as a wrong one."""

GIVEN_SPREAD = 0.1
"""A number of a set-up that was given may be this much off, as a share: 10 %."""

VOLTS_SPREAD = 0.01
"""The same for a voltage."""

CABLE_SPREAD = 0.8, 1.3
"""A run that was measured, against what its size and length say; its joints and its heat are in it."""

UNKNOWN_CABLE = 0.5, 2.0
"""The same where size or length is assumed."""

UNKNOWN_REAR = 0.08, 0.3
"""The piece behind the link, as a share of the one before it, where nobody knows it."""

SOME_LOAD = (2.0, 6.0)
"""Loads of a set-up that names none [A]."""

FAST_IDLE = 0.75
"""Most that an alternator gives at a fast idle, as a share of its rating."""

LEAST_OUTPUT = 1.0
"""What an alternator that works gives at a fast idle at the least [A]. Common practice, no source."""


def ends(s: SetUp, part: str, name: str, spread: float) -> Range:
    """Return the least and the most that a number of a set-up may be: around what was given, else the usual spread."""
    known = s.known(part, 0, name)
    if not known.assumed:
        return known.entry.value * (1 - spread), known.entry.value * (1 + spread)
    field = s.model.part(part).field(name)
    return tuple(field.read(text, {}).value for text in (known.usual.low, known.usual.high))


def pieces(s: SetUp, numbers: range) -> tuple[float, bool]:
    """Return the resistance of some pieces of the run, one way [ohm], and whether size or length of one is assumed."""
    total, assumed = 0.0, False
    for n in numbers:
        length, size = s.known("run", n, "length"), s.known("run", n, "size")
        total += cable.length_resistance(size.entry.value.resistance_per_km, length.entry.value, BASE_TEMPERATURE)
        assumed = assumed or length.assumed or size.assumed
    return total, assumed


def cables(s: SetUp) -> tuple[Range, Range]:
    """Return what the run before the link and the run behind it may have, one way [ohm]."""
    before, assumed = pieces(s, starts.before_last(s))
    low, high = UNKNOWN_CABLE if assumed else CABLE_SPREAD
    front = before * low, before * high
    last = starts.last_piece(s)
    if last is None:
        return front, (before * UNKNOWN_REAR[0], before * UNKNOWN_REAR[1])
    behind, assumed = pieces(s, range(last, last + 1))
    low, high = UNKNOWN_CABLE if assumed else CABLE_SPREAD
    return front, (behind * low, behind * high)


def loads(s: SetUp) -> Range:
    """Return what the loads of the second battery may draw together [A]."""
    together = starts.loads_together(s)
    if together is None:
        return SOME_LOAD
    amperes = float(together.text.partition(" ")[0])
    return amperes * (1 - 2 * GIVEN_SPREAD), amperes * (1 + 2 * GIVEN_SPREAD)


def vehicle(s: SetUp, link: str, return_path: str, chemistry: str) -> Vehicle:
    """Return what is known of the vehicle: the set-up, and what a check's own fields say."""
    kind, ignition = s.known("alternator", 0, "kind"), s.known("link", 0, "ignition_sense")
    bank = float(starts.bank_capacity(s).text.partition(" ")[0])
    profile = s.known("link", 0, "profile").entry.value
    front, rear = cables(s)
    idle, rated = ends(s, "alternator", "idle_output", GIVEN_SPREAD), ends(s, "alternator", "rated_output", 0.0)
    return Vehicle(
        link=link,
        return_path=return_path,
        smart=kind.assumed or kind.entry.value == "smart",
        ignition="unknown" if ignition.assumed else ignition.entry.value,
        chemistry=chemistry,
        starter_chemistry=s.known("starter", 0, "chemistry").entry.value,
        capacity=(bank * (1 - GIVEN_SPREAD), bank * (1 + GIVEN_SPREAD)),
        starter_capacity=ends(s, "starter", "capacity", GIVEN_SPREAD),
        set_point=ends(s, "alternator", "set_point", VOLTS_SPREAD),
        output=(max(LEAST_OUTPUT, idle[0]), max(idle[1], FAST_IDLE * rated[1])),
        connects_at=ends(s, "link", "connects_at", VOLTS_SPREAD),
        rating=ends(s, "link", "rating", GIVEN_SPREAD),
        profile=tuple(stage_voltage(profile, f"absorption_{end}", BASE_TEMPERATURE) for end in ("low", "high")),
        front_cable=front,
        rear_cable=rear,
        load=loads(s),
    )


def compute(i: Inputs, found: Findings) -> None:
    """Answer the check."""
    v = vehicle(i.set_up, i.link, i.return_path, i.chemistry)
    given = i.readings.all if i.readings else ()
    there = diagnosis.particles(v).shown
    foreign = [r for r in given if r.key not in there]
    high = [r for r in given if r.value is not None and abs(r.value) > HIGHEST and r.unit == "V"]
    turned = [r for r in given if backwards(r)]
    used = [r for r in given if r not in foreign and r not in high]
    taken = {r.key: abs(r.value) if r in turned else r.value for r in used if r.value is not None}
    skipped = frozenset(r.key for r in used if r.value is None)
    d = diagnosis.diagnose(v, taken, skipped)
    judge(d, i, found)
    judge_readings(v, d, taken, (foreign, high, turned), found)
    found.search = search(v, d, i, taken, used)
    record(d, taken, found)
    working(d, taken, found)
    warn(i, d, found)


def backwards(r: Reading) -> bool:
    """Return whether a reading is negative where it cannot be."""
    can = r.place in EITHER_SIGN or r.place in AMPERES
    return r.value is not None and not can and r.value < BACKWARDS


def name(key: str) -> str:
    """Return what a cause is called; two at once by both their names."""
    first, *others = (words.CAUSES[part].title for part in key.split("+"))
    return " and ".join([first, *(other[0].lower() + other[1:] for other in others)])


def in_hundred(chance: float) -> str:
    """Return a chance as a reader sees it."""
    if chance > 0.995:
        return "more than 99 in 100"
    return f"{round(100 * chance)} in 100" if chance >= 0.01 else "less than 1 in 100"


def odds(chance: float) -> str:
    """Return a chance in words."""
    said = ((0.95, "almost certain"), (0.75, "very likely"), (0.5, "likely"), (0.2, "possible"), (0.05, "unlikely"))
    return f"{next((text for least, text in said if chance >= least), 'very unlikely')}, {in_hundred(chance)}"


def judge(d: Diagnosis, i: Inputs, found: Findings) -> None:
    """Say what is likeliest, and whether that is sure enough."""
    key, chance = d.odds[0]
    parts = [words.CAUSES[part] for part in key.split("+")]
    level = max((part.level for part in parts), key=("ok", "caution", "stop").index)
    todo = " ".join(text for part in parts for text in (*part.now, *part.never))
    if d.sure:
        found.verdict(level, f"{name(key)}: {odds(chance)}.", todo)
    elif d.done:
        found.verdict(
            "caution",
            f"Likeliest is {lower(name(key))}: {odds(chance)}. No reading that is left tells the causes apart.",
            todo,
        )
    else:
        other = name(d.odds[1][0])
        found.verdict(
            "caution",
            f"Not sure yet: {lower(name(key))} is {odds(chance)}; then {lower(other)}, {in_hundred(d.odds[1][1])}.",
            f"Read next: {instruction(*d.gains[0][0])}",
        )


def lower(text: str) -> str:
    """Return a name inside a sentence."""
    return text[0].lower() + text[1:]


def instruction(place: str, state: str) -> str:
    """Return what to do for a reading, in whole sentences."""
    at, how = words.PLACES[place], words.STATES[state].how
    if place in AMPERES:
        return f"{how} Put a clamp meter for direct current {at.red}, its arrow away from the battery."
    return f"{how} Red probe to {at.red}, black probe to {at.black}."


def said(key: tuple[str, str], value: float) -> str:
    """Return a reading in words."""
    place, state = key
    unit = "A" if place in AMPERES else "V"
    return f"{words.PLACES[place].title}, {words.STATES[state].title}, {show(value, unit, 2)}"


def judge_readings(v: Vehicle, d: Diagnosis, taken: dict, odd: tuple, found: Findings) -> None:
    """Say which readings cannot be, and what may have gone wrong with them."""
    foreign, high, turned = odd
    for r in foreign:
        if r.value is not None:
            at = f"{words.PLACES[r.place].title}, {words.STATES[r.state].title}"
            found.verdict("caution", f"{at}: there is no such reading in this set-up.", "It does not count here.")
    for r in high:
        found.verdict("stop", words.HIGH_SYSTEM.format(reading=said(r.key, r.value)), "It does not count here.")
    for r in turned:
        found.verdict(
            "caution",
            words.REVERSED.format(reading=lower(said(r.key, r.value))),
            "Red goes to plus, black to minus. A battery that truly reads below 0 is done for; do not connect it.",
        )
    for key in d.doubted:
        found.verdict("caution", words.READ_AGAIN.format(reading=lower(said(key, taken[key]))), hint(v, key, taken))


def hint(v: Vehicle, key: tuple[str, str], taken: dict) -> str:
    """Say what may have gone wrong with a reading that nothing explains."""
    place, state = key
    if place in ("second", "starter", "alternator") and abs(taken[key]) < NEXT_TO_NOTHING:
        return words.NO_VOLTAGE.format(reading=said(key, taken[key]))
    p = diagnosis.particles(v)
    weights, _ = diagnosis.weigh(p, {k: value for k, value in taken.items() if k != key})
    wrong = diagnosis.WRONG / diagnosis.WIDTH
    for other in p.shown:
        if other[1] == state and other not in taken and (other[0] in AMPERES) == (place in AMPERES):
            likely = diagnosis.tell(p, {other: taken[key]}).likely
            if sum(w * k for w, k in zip(weights, likely, strict=True)) > FITS * wrong:
                return words.ELSEWHERE.format(place=f"{words.PLACES[other[0]].title}, {words.STATES[state].title}")
    return words.COUNTS_LITTLE


def healthy(p: Particles, key: tuple[str, str]) -> str:
    """Return what a reading shows where all is well, in words."""
    low, high = p.usual[key]
    unit = "A" if key[0] in AMPERES else "V"
    limit = drop_limit(*key)
    if limit is not None:
        return f"up to {show(max(limit, high), unit, 2)}"
    return f"{show(low, '-', 2)} to {show(high, unit, 2)}"


def probing(p: Particles, key: tuple[str, str]) -> Probing:
    """Return a reading as the page needs it."""
    place, state = key
    at, how = words.PLACES[place], words.STATES[state]
    return Probing(
        f"{place} {state}",
        place,
        state,
        f"{at.title}, {how.title}",
        instruction(place, state),
        at.red,
        at.black,
        "A" if place in AMPERES else "V",
        tuple(dict.fromkeys((*how.cautions, *at.cautions))),
        healthy(p, key),
    )


def reasons(p: Particles, told: dict, cause: int, taken: dict) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return which readings speak for a cause and which against it."""
    weighed = []
    for key in taken:
        one: Told = told[key]
        inside, prior = share(p, one.likely, cause), sum(p.start[p.of(cause)])
        outside = (share(p, one.likely, None) - prior * inside) / (1 - prior)
        weighed.append((inside / outside, key))
    weighed.sort()
    speaks_for = [phrase(p, k, taken, ratio) for ratio, k in reversed(weighed) if ratio > TELLING]
    against = [phrase(p, k, taken, 1 / ratio) for ratio, k in weighed if ratio < 1 / TELLING]
    return tuple(speaks_for[:REASONS]), tuple(against[:REASONS])


def share(p: Particles, likely: list[float], cause: int | None) -> float:
    """Return how likely a reading is with a cause, or with any."""
    which = slice(None) if cause is None else p.of(cause)
    start = p.start[which]
    return sum(w * k for w, k in zip(start, likely[which], strict=True)) / sum(start)


def phrase(p: Particles, key: tuple[str, str], taken: dict, times: float) -> str:
    """Return what one reading says, in a sentence."""
    how = "strongly" if times > 10 else "clearly" if times > 3 else "a little"
    return f"{said(key, taken[key])}: {how}. All well would be {healthy(p, key)}."


def search(v: Vehicle, d: Diagnosis, i: Inputs, taken: dict, used: list[Reading]) -> Search:
    """Return how far the search has come."""
    p = diagnosis.particles(v)
    numbers = {cause.key: n for n, cause in enumerate(p.causes)}
    each = {key: diagnosis.tell(p, {key: value}) for key, value in taken.items()}
    named = [one for n, one in enumerate(d.odds[:LISTED]) if n < 2 or one[1] >= SLIGHT]
    suspects = []
    for key, chance in named:
        parts = [words.CAUSES[part] for part in key.split("+")]
        speaks_for, against = reasons(p, each, numbers[key], taken)
        now, never = (tuple(t for w in parts for t in getattr(w, kind)) for kind in ("now", "never"))
        suspects.append(Suspect(key, name(key), chance, odds(chance), speaks_for, against, now, never))
    return Search(
        v.link,
        v.return_path,
        tuple(
            Taken(probing(p, r.key), r.plain, show(r.value, r.unit, 2), f"All well would be {healthy(p, r.key)}.")
            for r in used
            if r.value is not None
        ),
        tuple(probing(p, key) for key, _ in d.gains),
        tuple(probing(p, r.key) for r in used if r.value is None),
        tuple(suspects),
        d.sure,
        not d.done,
        found_so_far(d, taken),
    )


def found_so_far(d: Diagnosis, taken: dict) -> str:
    """Say in a sentence how far the search has come."""
    if d.sure:
        return "Sure enough to stop."
    if d.done:
        return "No reading that is left tells the causes apart."
    return "Take the first reading." if not taken else "Not sure yet: take the next reading."


def record(d: Diagnosis, taken: dict, found: Findings) -> None:
    """Record the values of the answer."""
    for output, (key, chance) in zip(("chance", "second_chance"), d.odds, strict=False):
        found.value(output, 100 * chance, text=f"{name(key)}, {in_hundred(chance)}")
    found.value("readings_taken", len(taken))
    best = "none that helps" if d.done else probing_title(d.gains[0][0])
    found.value("readings_left", sum(gain >= diagnosis.LITTLE for _, gain in d.gains), text=f"next: {best}")


def probing_title(key: tuple[str, str]) -> str:
    """Return what a reading is called inside a sentence."""
    return f"{lower(words.PLACES[key[0]].title)}, {words.STATES[key[1]].title}"


def working(d: Diagnosis, taken: dict, found: Findings) -> None:
    """Show how the answer comes about."""
    found.step(
        f"{len(d.odds)} causes, each tried in {diagnosis.COUNT} vehicles that differ in all that nobody knows",
        f"{len(taken)} readings weigh them by Bayes' rule",
        "memory",
    )
    for row in table("fault_limits").rows:
        for (place, state), value in taken.items():
            if place == row["place"] and state != "cranking":
                found.step(
                    f"{words.PLACES[place].title}: {'more' if abs(value) > row['limit'] else 'no more'} is lost than "
                    "the handbooks allow",
                    f"{show(abs(value), 'V', 2)} against {show(row['limit'], 'V', 2)}",
                    row["source"],
                )
    if d.gains:
        found.step(
            "The next reading is the one expected to tell most for its effort",
            f"{probing_title(d.gains[0][0])}: {show(d.gains[0][1], '-', 2)} bits",
            "memory",
        )


def warn(i: Inputs, d: Diagnosis, found: Findings) -> None:
    """Record the cautions: of the next reading first, then of all work on batteries."""
    if d.gains and not d.done:
        place, state = d.gains[0][0]
        found.caution(*words.STATES[state].cautions, *words.PLACES[place].cautions)
    found.caution(cautions.SHORT_CIRCUIT)
    if i.chemistry in LEAD_ACID:
        found.caution(cautions.GAS)
    found.caution(cautions.FUSE_LAST, cautions.LOCAL_CODE)


READINGS = ReadingsField(
    "readings",
    "Readings",
    "Place, state and what the meter showed, parted by semicolons; “?” for a place that is out of reach",
    "",
    EXAMPLE,
    unknown="none yet",
)

OF_THE_VEHICLE = (
    replace(LINK.field("kind"), name="link", label="Link", default="relay"),
    replace(VEHICLE.field("earth_path"), name="return_path", default="body"),
    replace(CHEMISTRY, label="Second battery type", default="agm"),
)
STARTS = {
    "link": starts.at("link", "kind"),
    "return_path": starts.at("vehicle", "earth_path"),
    "chemistry": starts.at("second", "chemistry"),
}
"""Fields that say of the vehicle what its readings hang on most, and where they start from."""


CHECK = Check(
    id="fault-finder",
    title="Fault finder",
    question="What is wrong, by a few meter readings?",
    about="It keeps every possible cause in mind, lets each reading weigh on all of them, and asks for the one that "
    "tells most. Start with none, or with what you have.",
    task="camp",
    fields=(READINGS, *OF_THE_VEHICLE),
    outputs=(
        Output("chance", "share", "Likeliest cause"),
        Output("second_chance", "share", "Next likeliest"),
        Output("readings_taken", "number", "Readings taken"),
        Output("readings_left", "number", "Readings left that tell something"),
    ),
    compute=compute,
    example={
        "readings": "second rested 11.7 V; starter running 14.2 V; second running 11.7 V; front-fuse running 14.1 V"
    },
    example_story="A flat second battery at camp, an engine that charges, and a meter.",
    cases=(
        Cases(
            "Likeliest cause by three readings: second battery at rest, then both batteries with the engine running",
            tuple(
                (
                    f"{rested}, {starter}, {second} V",
                    {"readings": f"second rested {rested} V; starter running {starter} V; second running {second} V"},
                )
                for rested, starter, second in (
                    ("11.7", "14.2", "11.7"),
                    ("11.7", "14.2", "13.8"),
                    ("11.7", "12.3", "11.7"),
                    ("10.5", "14.2", "13.2"),
                    ("12.6", "14.2", "14.0"),
                )
            ),
            (("Relay", {"link": "relay"}), ("DC-DC charger", {"link": "charger"})),
            "chance",
        ),
    ),
    guides=("voltage-drops", "faults-on-the-way", "faults-at-the-engine", "faults-at-the-battery", "reading-a-battery"),
    starts=STARTS,
    whole=True,
)
