"""What is bought, fitted where and in which order, to wire the second battery of this vehicle?"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Output, Sheet
from calc.checks import wiring_run
from calc.checks.wiring_run import CHARGER, CONTACT, FUSES, PIECES, Chosen, Part
from calc.fields import Entry, FieldError
from calc.physics import fuse
from calc.physics.run_design import Laid
from calc.setup import starts
from calc.setup.model import SetUp
from calc.shared_fields import LEAD_ACID
from calc.tables import table
from calc.units import show

RUN = wiring_run.CHECK
"""The question whose search chooses the sizes."""

WRITE = ""
"""A cell to be written in by hand."""

FROM, TO_LINK, LOADS = range(3)
"""Numbers of the pieces: to the link, from the link on, and to the loads."""

WAYS = (
    "from the starter battery to the {link}",
    "from the {link} to the second battery",
    "from the second battery to the loads' fuse box",
)
LINK_NAMES = {"wire": "joint in the run", "switch": "battery switch", "relay": "relay", CHARGER: "DC-DC charger"}
ZONES = {"engine_bay": "engine bay", "under": "under the body", "cabin": "inside"}
THINNER = 0.99
"""A fitted size below this share of what is asked for counts as thinner."""


def usual(key: str) -> float:
    """Return what a fitter's part usually has, in the unit of its row."""
    return table("job_parts").row(key=key)["value"]


@dataclass(frozen=True)
class Assumed:
    """Something that was not given: what, what it counts as, and how to find it out."""

    label: str
    text: str
    find: str


class Job:
    """The work on one vehicle: what its wiring rests on, and what was chosen."""

    def __init__(self, i: Inputs):
        self.set_up: SetUp = i.set_up
        self.linked = self.set_up.known("link", 0, "kind").entry.value != "none"
        entries, self.assumed = rests_on(i)
        self.i = Inputs(entries)
        every = wiring_run.parts(self.i)
        self.parts: list[Part] = every if self.linked else every[-1:]

    @cached_property
    def laid(self) -> dict[int, Laid]:
        """The sizes chosen, by the numbers of their pieces."""
        return {n: one for part in self.parts if part.best for n, one in zip(part.pieces, part.laid, strict=True)}

    @cached_property
    def fuses(self) -> dict[int, Chosen]:
        """The fuses chosen, by the numbers of their pieces."""
        return {c.number: c for part in self.parts if part.best for c in wiring_run.choose(part)}

    @property
    def whole(self) -> bool:
        """Whether every piece has a size."""
        return all(part.best for part in self.parts)

    @property
    def link(self) -> str:
        """What joins the batteries, in words."""
        return LINK_NAMES[self.i.link]

    def way(self, n: int) -> str:
        """Return from where to where a piece leads."""
        return WAYS[n].format(link=self.link)

    def length(self, n: int) -> float:
        """Return what to buy of a piece, with some to spare, in whole tenths [m]."""
        return math.ceil(10 * self.laid[n].piece.length * (1 + usual("spare_length") / 100) - 1e-9) / 10

    def lugs(self) -> Counter:
        """Return how many lugs of each size and stud are needed: (size in words, copper area, stud) → how many."""
        found: Counter = Counter()
        for n, one in self.laid.items():
            at_fuse = f"fuse_{self.fuses[n].fuse.key}"
            ends = {
                FROM: ["battery", at_fuse, at_fuse, self.i.link],
                TO_LINK: [self.i.link, at_fuse, at_fuse, "battery"],
                LOADS: ["battery", at_fuse, at_fuse, "loads"],
            }[n]
            if at_fuse == "fuse_bolt":  # it stands on the post: no piece of cable lies between
                ends.remove("battery")
                ends.remove(at_fuse)
            if self.by_cable:
                ends += ["battery", "loads" if n == LOADS else "battery"]
            for end in ends:
                found[one.size.text, one.size.area, usual(f"stud_{end}")] += 1
        if not self.by_cable and self.laid:
            thick = self.strap
            found[thick.size.text, thick.size.area, usual("stud_battery")] += 1
            found[thick.size.text, thick.size.area, usual("stud_body")] += 1
        return found

    @property
    def by_cable(self) -> bool:
        """Whether a cable leads the current back."""
        return self.i.return_path == "cable"

    @property
    def strap(self) -> Laid:
        """The thickest piece: the second battery's earth strap is as thick."""
        return max(self.laid.values(), key=lambda one: one.size.copper)


def rests_on(i: Inputs) -> tuple[dict[str, Entry], list[Assumed]]:
    """Return what the wiring rests on: what was asked here, else what the set-up knows, else what is usual."""
    entries, assumed = {}, []
    for f in RUN.fields:
        if f.name in DECIDED or f.name in LEFT_OPEN and i.given(f.name):
            entries[f.name] = i.entry(f.name)
            continue
        start = RUN.start(f.name, i.set_up)
        try:
            entries[f.name] = f.read(start.text if start else None, entries)
        except FieldError:
            start = None
            entries[f.name] = f.read(f.example, entries)
        if start is None or start.assumed:
            find = start.usual.find if start else f.help
            assumed.append(Assumed(f.label, entries[f.name].text, find or f.help))
    return entries, assumed


def compute(i: Inputs, found: Findings) -> None:
    """Fill in the sheet."""
    job = Job(i)
    record(job, found)
    judge(job, found)
    if job.whole:
        found.sheets += [parts_list(job), fuse_places(job)]
        if job.linked:
            found.sheets.append(settings(job))
        found.sheets += [order(job), joints(job)]
        found.design = design(job)
    found.sheets += [assumed_here(job), signed(job)]
    wiring_run.working(job.i, job.parts, job.laid, job.fuses, found)
    working(found)
    warn(job, found)


def record(job: Job, found: Findings) -> None:
    """Record the values of the answer."""
    for n in range(len(PIECES)) if job.linked else (LOADS,):
        if n in job.laid:
            found.value(f"size_{n + 1}", job.laid[n].size.area, text=job.laid[n].size.text)
            found.value(f"fuse_{n + 1}", job.fuses[n].fuse.rating, text=job.fuses[n].fuse.text)
        else:
            found.value(f"size_{n + 1}", None, text=wiring_run.NO_CABLE)
            found.value(f"fuse_{n + 1}", None, text=wiring_run.NO_FUSE)
    found.value("cable", sum(job.length(n) * (1 + job.by_cable) for n in job.laid))
    found.value("lugs", sum(job.lugs().values()))
    found.value("assumed", len(job.assumed))


def judge(job: Job, found: Findings) -> None:
    """Say what the whole job is, what keeps it from being done, and what to think of first."""
    for part in job.parts:
        if not part.best:
            wiring_run.refuse(job.i, part, found)
    if job.whole:
        said = "; ".join(
            f"{job.way(n)} {one.size.text} with a fuse of {show(job.fuses[n].fuse.rating, 'A')}"
            for n, one in job.laid.items()
        )
        because = "Sizes and fuses are those of the question how to wire the second battery."
        found.verdict("ok", f"{said[0].upper()}{said[1:]}.", because)
    for known, needed in thinner(job):
        found.verdict(
            "caution",
            f"{known.label}: {known.entry.text} is fitted, and this run asks for {needed.size.text}.",
            "Lay the thicker cable, or ask the check of cable and loss what the fitted one will do for.",
        )
    if not job.linked:
        found.verdict(
            "ok", "Nothing joins the batteries, so only the loads are wired here.", "Choose a link to wire it."
        )
    elif job.parts[0].best:
        wiring_run.judge_charging(job.i, job.parts, found)
    wiring_run.judge_fuses(tuple(job.fuses.values()), found)
    if job.assumed:
        found.verdict(
            "caution",
            f"{len(job.assumed)} entries are assumed, and stand at the foot of the sheet.",
            "Find them out before you buy: a longer run or a hotter place changes sizes.",
        )


def thinner(job: Job) -> Iterator[tuple]:
    """Yield every piece of the set-up whose cable is thinner than it should be, with what it should be."""
    count = job.set_up.count("run")
    for n in range(count):
        known = job.set_up.known("run", n, "size")
        needed = job.laid.get(TO_LINK if count > 1 and n == count - 1 else FROM)
        if needed and not known.assumed and known.entry.value.copper < THINNER * needed.size.copper:
            yield known, needed


# The sheet


def parts_list(job: Job) -> Sheet:
    """Return what to buy."""
    s = job.set_up
    rows = [("Second battery", f"{job.i.text('capacity')}, {job.i.text('chemistry')}", str(max(1, s.count("second"))))]
    if job.linked:
        rows.append((f"{job.link[0].upper()}{job.link[1:]}", link_rating(job), "1"))
    for n, one in job.laid.items():
        rows.append((f"Cable, red, {job.way(n)}", one.size.text, f"{job.length(n):.1f} m"))
        if job.by_cable:
            rows.append((f"Cable, black, {job.way(n)}", one.size.text, f"{job.length(n):.1f} m"))
    if not job.by_cable:
        rows.append(
            ("Earth strap, black, second battery to body", job.strap.size.text, f"{usual('strap_length'):.1f} m")
        )
    for c in job.fuses.values():
        rows.append((FUSES[c.number], f"{c.fuse.words}, and one to spare", "2"))
        rows.append((f"Holder of {FUSES[c.number].lower()}", holder(c), "1"))
    for (size, _, stud), count in sorted(job.lugs().items(), key=lambda one: (-one[0][1], one[0][2])):
        rows.append(("Lugs, copper, closed", f"for {size}, stud M{stud:g}", str(count)))
    rows += sundries(job)
    note = (
        f"Lengths are measured along the way, with {show(usual('spare_length'), '%', 0)} to spare. Studs are usual "
        "ones, from memory: measure yours. Red is plus, black is minus."
    )
    return Sheet("Parts", ("Part", "What", "How many"), tuple(rows), note)


def link_rating(job: Job) -> str:
    """Return what the link has to carry."""
    if job.i.link == CHARGER:
        return f"{job.i.text('current')} out, set for {job.i.text('chemistry')}"
    if job.i.link in CONTACT:
        return (
            f"carries {show(max(job.fuses[FROM].fuse.rating, job.fuses[TO_LINK].fuse.rating), 'A')} for good, or more"
        )
    return "nothing to buy"


def holder(c: Chosen) -> str:
    """Return what a fuse stands in."""
    carries = f"made for {show(c.fuse.rating, 'A')} or more"
    if c.fuse.key == "bolt":
        return f"on the battery's own stud, insulated, {carries}"
    return f"with a cover, bolted down, {carries}"


def sundries(job: Job) -> list[tuple[str, str, str]]:
    """Return the small things."""
    cables = [(n, job.length(n)) for n in job.laid for _ in range(1 + job.by_cable)]
    held = sum(math.ceil(job.laid[n].piece.length / usual("held_every")) for n, _ in cables)
    sleeved = sum(length for n, length in cables if job.laid[n].piece.engine_bay or n == FROM)
    lugs = sum(job.lugs().values())
    return [
        (
            "Sleeve that bears heat and oil",
            "over the cable in the engine bay and where it passes metal",
            f"{sleeved:.1f} m",
        ),
        ("Clips or ties with a base", f"one every {show(usual('held_every'), 'm')}", str(held)),
        ("Heat-shrink with glue", "over each lug, red on plus, black on minus", str(lugs)),
        ("Grommets", "one for each hole in metal", "as counted"),
        ("Covers for posts and studs", "on every plus", "as counted"),
        ("Labels", "at each fuse: its rating and what it guards", str(len(job.fuses))),
    ]


def fuse_places(job: Job) -> Sheet:
    """Return where each fuse stands and what it is."""
    near, far = fuse.farthest_from_source(False), fuse.farthest_from_source(True)

    def row(c: Chosen) -> tuple[str, ...]:
        breaks = show(c.fuse.family.breaking_capacity, "A")
        return (
            FUSES[c.number],
            f"{c.fuse.words}; breaks {breaks}",
            f"{c.where}, plus; within {show(near, 'm')} of the post along the cable",
            f"{job.laid[c.number].size.text} {job.way(c.number)}",
        )

    note = (
        f"Up to {show(far, 'm')} where the cable is sheathed or enclosed all the way (33 CFR 183.455). The piece "
        "before a fuse is guarded by nothing: sleeve it. A local code may ask for less."
    )
    return Sheet(
        "Fuses and their places", ("Fuse", "What", "Where", "Guards"), tuple(map(row, job.fuses.values())), note
    )


def settings(job: Job) -> Sheet:
    """Return how the link is set."""
    s = job.set_up
    wanted = {
        "relay": ("connects_at", "disconnects_at", "delay"),
        CHARGER: ("rating", "profile", "ignition_sense", "temperature_sensor", "input_limit"),
    }.get(job.i.link, ())
    rows = []
    for name in wanted:
        known = s.known("link", 0, name)
        text, mark = known.entry.text, ", assumed" if known.assumed else ""
        if name == "profile":
            text, mark = job.i.text("chemistry"), ""
        rows.append((s.model.part("link").field(name).label, f"{text}{mark}", WRITE))
    if not rows:
        rows = [("Settings", "none", WRITE)]
    return Sheet(f"Settings of the {job.link}", ("Setting", "Set to", "Done"), tuple(rows))


def order(job: Job) -> Sheet:
    """Return the order of work."""
    steps = [
        "Engine off, key out, chargers and sun disconnected. Rings and watch off.",
        "Starter battery: minus off first, then plus. Cover both posts.",
        "Second battery: fix it to the vehicle so that nothing moves it. Leave its posts bare of cable and covered.",
        "Lay the cables with no end joined: sleeve, grommets, clips; off exhaust, fuel lines and moving parts.",
        "Fix the fuse holders beside their batteries, empty.",
    ]
    if job.linked and job.i.link != "wire":
        steps.append(f"Fix the {job.link} where its leaflet allows, and set it as its table says.")
    steps += [
        "Cut each cable, slide the heat-shrink on, crimp its lug, pull at it, shrink.",
        "Join the minus side first: the strap or the black cables, to bare metal."
        if not job.by_cable
        else "Join the minus side first: the black cables, from end to end.",
        "Join the plus side, from the loads towards the batteries. The fuses are still out.",
        "Meter on ohms, from every plus to the body, the batteries still off: none may show a short.",
        "Second battery: plus on, then minus. Starter battery: plus on, then minus last.",
        "Fit the fuses last: the loads' first, then the second battery's, then the starter battery's.",
        "Read every row of the commissioning sheet, and sign it.",
        f"After {show(usual('check_again'), '-', 0)} km feel and look at every joint again.",
    ]
    return Sheet(
        "Order of work", ("Step", "What", "Done"), tuple((str(n), text, WRITE) for n, text in enumerate(steps, 1))
    )


def joints(job: Job) -> Sheet:
    """Return how crimps and bolts are made; a torque is the maker's to state."""
    rows = (
        (
            "Crimp",
            "A lug for the copper area and for the bolt; the tool and die made for that lug; no solder, no pliers.",
        ),
        ("Bare end", "As long as the lug's barrel, no strand cut off, all of them in."),
        ("Test", "Pull at it with both hands. It must not turn or slide."),
        ("Bolt", "Bare metal on bare metal: stud, lug, washer, spring washer, nut. The largest current lies lowest."),
        ("Torque", "The torque the maker of the terminal states, with a torque wrench; mark the nut with paint."),
        ("Body", "Scrape to bright metal under the lug, fit it, then paint over all."),
    )
    return Sheet("Crimps, bolts and torque", ("What", "How"), rows)


def assumed_here(job: Job) -> Sheet:
    """Return what was not given."""
    rows = tuple((one.label, one.text, one.find) for one in job.assumed) or (("Nothing", "all of it was given", "–"),)
    return Sheet("Assumed on this sheet", ("What", "Counts as", "How to find it out"), rows)


def signed(job: Job) -> Sheet:
    """Return the foot of the sheet."""
    rows = (
        ("Set-up", job.set_up.name or WRITE),
        ("Date", WRITE),
        ("Initials", WRITE),
        ("Remarks", WRITE),
    )
    return Sheet("Signed", ("What", "Entry"), rows)


def design(job: Job) -> SetUp:
    """Return the set-up as it is once the work is done, to be drawn."""
    if not job.linked:
        return job.set_up
    run = wiring_run.design(job.i, job.laid, job.fuses)
    if job.set_up.entries.get("link"):
        return starts.with_run(job.set_up, run)
    return starts.with_run(replace(job.set_up, entries={**job.set_up.entries, "link": run.entries["link"]}), run)


def working(found: Findings) -> None:
    """Show what beside the run was worked out, and from what."""
    found.step(
        "What to buy of each cable",
        f"length along the way + {show(usual('spare_length'), '%', 0)}, up to the next tenth of a metre",
        "practice",
    )
    found.step("Studs of batteries, links and holders", "usual ones; measure yours", "memory")


def warn(job: Job, found: Findings) -> None:
    """Record the cautions."""
    lead_acid = job.i.chemistry in LEAD_ACID
    found.caution(cautions.SHORT_CIRCUIT, cautions.LAST_CLAMP, cautions.FUSE_LAST, cautions.BATTERY_HELD)
    found.caution(cautions.GAS if lead_acid else cautions.LITHIUM_COLD)
    if "flooded" in (job.i.chemistry, job.i.starter_chemistry):
        found.caution(cautions.ACID)
    if job.linked and job.i.link in ("wire", "switch"):
        found.caution(cautions.JOINING)
    if job.set_up.known("mains", 0, "fitted").entry.value == "yes":
        found.caution(cautions.MAINS)
    found.caution(cautions.LOCAL_CODE)


def open_(name: str, unknown: str, **changes):
    """Return a field of the run that may be left to the set-up."""
    return replace(RUN.field(name), default="", unknown=unknown, **changes)


AS_KNOWN = "as in the set-up"
LEFT_OPEN = ("current", "load_current", "load_length")
DECIDED = ("load_surge", "allowed_drop", "bundle", "family")
"""Fields asked here: those that may be left to the set-up or the usual, and those that are for the reader to decide."""

CHECK = Check(
    id="job-sheet",
    title="Job sheet",
    question="What do I buy and fit, and in which order, to wire this vehicle?",
    about="One sheet for the work on one vehicle: parts with sizes, fuses and their places, settings, the order of "
    "work and the habits that keep joints cool. Print it and take it along.",
    task="vehicle",
    fields=(
        open_("current", AS_KNOWN),
        open_("load_current", AS_KNOWN),
        RUN.field("load_surge"),
        open_("load_length", f"{RUN.field('load_length').default}, assumed"),
        replace(RUN.field("allowed_drop"), part_of=None, part_unit=None),
        RUN.field("bundle"),
        RUN.field("family"),
    ),
    outputs=(
        Output("size_1", "area", "Cable from the starter battery", always=False),
        Output("fuse_1", "current", "Fuse 1, at the starter battery", always=False),
        Output("size_2", "area", "Cable to the second battery", always=False),
        Output("fuse_2", "current", "Fuse 2, at the second battery", always=False),
        Output("size_3", "area", "Cable to the loads"),
        Output("fuse_3", "current", "Fuse 3, at the second battery, for the loads"),
        Output("cable", "length", "Cable to buy, all of it"),
        Output("lugs", "number", "Lugs to crimp"),
        Output("assumed", "number", "Entries assumed"),
    ),
    compute=compute,
    example={"load_current": "12 A"},
    example_story="A usual vehicle with a relay, nothing measured yet; its loads draw 12 A together.",
    cases=(
        Cases(
            "Cable to the loads in a usual vehicle, by their current and the way to their fuse box",
            tuple((f"{amps}\u00a0A", {"load_current": f"{amps} A"}) for amps in ("5", "10", "20", "40")),
            tuple((f"{length}\u00a0m", {"load_length": f"{length} m"}) for length in ("1", "2", "4")),
            "size_3",
        ),
    ),
    guides=("cable-and-fuse", "joints-and-earths", "fuses", "fitted-by-somebody-else"),
    starts={"current": starts.output_current, "load_current": starts.loads_together},
    whole=True,
    prints=("page",),
)
