"""The settings file of a club's edition: read, checked, and refused in plain sentences.

It is TOML. Only `club` has to be there; files are named from the folder that the settings are in:

    club = "Dry Creek Tourers"              # who gives this edition out, and answers for what it adds
    name = "Dry Creek Field Book"           # in place of the book's own name; short_name: below an icon
    contact = "the wiring officer, at any meeting"
    region = "australia"                    # one of `calc.region.REGIONS`
    welcome = "welcome.md"                  # a page that is linked first; its head is title and summary
    guides = "guides"                       # a folder of guides, with the head and the rules of `site_src/guides`
    [colours.day]                           # and [colours.night]: ground and accent, 7:1 with all that is read on them
    ground = "#fbf7ee"
    [icon]                                  # one or two letters in place of the battery's poles, and the colour below
    letters = "DC"
    [[set_ups]]                             # set-ups to look at, and to keep by whoever likes
    file = "set-ups/tray.json"
    about = "A tray with a winch battery."
    [[cautions]]                            # beside ours, on the checks that are named or on all
    text = "Salt flats: wash the terminals the same day."
    checks = ["cable-drop"]
    [[codes]]                               # local codes to defer to
    title = "AS/NZS 3001.2:2022"
    covers = "the wiring of a vehicle that is lived in"

Nothing that a club sets takes anything away of the book's own words. What it typed is text, never markup; a guide is
Markdown without HTML, and its expressions run in a sandbox.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

import calc
from calc import units
from calc.edition import ClubCaution
from calc.edition import Edition as Answering
from calc.edition import used as answering
from calc.region import METRIC, REGIONS, Code
from calc.setup import demos, file
from calc.setup.model import SetUpError
from site_src import colours, icons
from site_src.edition import ClubSetUp, Edition
from site_src.guides import Guide, read_club_guide, read_welcome
from site_src.trouble import Trouble

EXAMPLE = "site_src/editions/example/edition.toml"
"""A whole one, of a club that is invented."""

PLACE = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
"""What a guide's or a set-up's file may be called, as it becomes an address."""

SETTINGS = {
    "club": 'club = "Dry Creek Tourers"',
    "name": 'name = "Dry Creek Field Book"',
    "short_name": 'short_name = "Dry Creek"',
    "contact": 'contact = "the wiring officer, at any meeting"',
    "region": 'region = "australia"',
    "welcome": 'welcome = "welcome.md"',
    "guides": 'guides = "guides"',
    "colours": '[colours.day] and below it ground = "#fbf7ee"',
    "icon": '[icon] and below it letters = "DC"',
    "set_ups": '[[set_ups]] and below it file = "tray.json"',
    "cautions": '[[cautions]] and below it text = "Wash salt off the same day."',
    "codes": '[[codes]] and below it title = "AS/NZS 3001.2:2022" and covers = "the wiring"',
}
"""Every setting, with an example of it."""


class Reader:
    """Reads one table of the settings, and notes in plain sentences what cannot be used."""

    def __init__(self, found: object, where: str, known: Mapping[str, str], problems: list[str]):
        self.where, self.known, self.problems = where, known, problems
        self.found = found if isinstance(found, dict) else {}
        if not isinstance(found, dict):
            self.refuse(f"{where or 'It'} must be a table, such as {next(iter(known.values()))}.")
        for key in self.found:
            if key not in known:
                self.refuse(
                    f"There is no setting “{units.shorten(key, 40)}”{f' in {where}' if where else ''}; there are "
                    f"{', '.join(known)}. For example: {next(iter(known.values()))}."
                )

    def refuse(self, sentence: str) -> str:
        """Note a sentence."""
        self.problems.append(sentence)
        return ""

    def text(self, key: str, longest: int, required: bool = False) -> str:
        """Return a line of text, or "" where it is not given or not usable."""
        given = self.found.get(key, "")
        name = f"{self.where} {key}".strip()
        if not isinstance(given, str) or len(given) > longest or not units.printable(given):
            return self.refuse(f"{name} must be one line of text of up to {longest} characters: {self.known[key]}.")
        if required and not given.strip():
            return self.refuse(f"{name} must be given: {self.known[key]}.")
        return given.strip()

    def colour(self, key: str) -> str:
        """Return a colour, or ""."""
        given = self.text(key, 40)
        if given and not re.fullmatch(r"#[0-9a-f]{6}", given.lower()):
            name = f"{self.where} {key}".strip()
            return self.refuse(
                f"{name} is “{given}”; it must be # and six digits of red, green, blue: {self.known[key]}."
            )
        return given.lower()

    def choice(self, key: str, options: Mapping[str, object], default: str) -> str:
        """Return one of some keys."""
        given = self.text(key, 40) or default
        if given in options:
            return given
        self.refuse(f"There is no {key} “{given}”; there are {', '.join(options)}: {self.known[key]}.")
        return default

    def tables(self, key: str, known: Mapping[str, str]) -> Iterator[Reader]:
        """Yield a reader for each table of a list of them."""
        given = self.found.get(key, [])
        if not isinstance(given, list):
            self.refuse(f"{key} must be a list of tables, each begun with [[{key}]]: {self.known[key]}.")
            return
        for number, each in enumerate(given, 1):
            yield Reader(each, f"[[{key}]] {number}", known, self.problems)


def read(path: Path) -> Edition:
    """Return the edition that a settings file makes.

    Raises
    ------
    Trouble
        with a sentence for each thing in it that cannot be used.
    """
    try:
        found = tomllib.loads(path.read_text("utf-8"))
    except OSError:
        raise Trouble(
            f"There is no settings file that can be read at {path}. Name one after --edition, such as {EXAMPLE}."
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise Trouble(f'{path} is not TOML: {problem}. A line of it looks like: club = "Dry Creek Tourers".') from None
    problems: list[str] = []
    made = read_settings(Reader(found, "", SETTINGS, problems), path.parent)
    if problems:
        listed = "\n".join(f"- {sentence}" for sentence in problems)
        raise Trouble(f"{path} cannot be used for an edition:\n{listed}")
    return made


def read_settings(given: Reader, folder: Path) -> Edition:
    """Return the edition; what cannot be used is noted with the reader."""
    club = given.text("club", 60, required=True)
    name = given.text("name", 60)
    short_name = given.text("short_name", 14)
    if name and not short_name:
        given.refuse(f"A name needs a short_name beside it, of up to 14 characters: {SETTINGS['short_name']}.")
    icon = Reader(
        given.found.get("icon", {}),
        "[icon]",
        {"letters": 'letters = "DC"', "colour": 'colour = "#ffc98a"'},
        given.problems,
    )
    letters = icon.text("letters", 2).upper()
    if set(letters) - set(icons.LETTERS):
        letters = icon.refuse(
            f'[icon] letters are “{letters}”; one or two of A to Z and 0 to 9 are allowed: letters = "DC".'
        )
    answers = Answering(
        club,
        REGIONS[given.choice("region", REGIONS, METRIC.key)],
        tuple(read_codes(given)),
        tuple(read_cautions(given)),
    )
    with answering(answers):  # a set-up and a guide say quantities as the region does
        return Edition(
            club,
            name,
            short_name,
            given.text("contact", 120),
            read_page(given, folder),
            tuple(read_guides(given, folder, club)),
            tuple(read_set_ups(given, folder)),
            read_colours(given),
            letters,
            icon.colour("colour"),
            answers,
        )


def read_codes(given: Reader) -> Iterator[Code]:
    """Yield the local codes that a club names."""
    known = {"title": 'title = "AS/NZS 3001.2:2022"', "covers": 'covers = "the wiring"'}
    for one in given.tables("codes", known):
        title, covers = one.text("title", 160, required=True), one.text("covers", 120, required=True)
        yield Code(title, covers, "named by the club")


def read_cautions(given: Reader) -> Iterator[ClubCaution]:
    """Yield a club's cautions."""
    known = {"text": 'text = "Wash salt off the same day."', "checks": 'checks = ["cable-drop"]'}
    for one in given.tables("cautions", known):
        checks = one.found.get("checks", [])
        text = one.text("text", 240, required=True)
        if not isinstance(checks, list) or not set(map(str, checks)) <= set(calc.checks()):
            one.refuse(
                f"{one.where} checks must be a list of checks, {known['checks']}, or be left out for all of them; "
                f"there are {', '.join(calc.checks())}."
            )
            continue
        yield ClubCaution(text, tuple(checks))


def read_colours(given: Reader) -> dict[str, dict[str, str]]:
    """Return the colours by day and by night, each pair at least 7:1."""
    times = {time: f'[colours.{time}] and below it ground = "{colours.plain(time)["paper"]}"' for time in colours.TIMES}
    both = Reader(given.found.get("colours", {}), "[colours]", times, given.problems)
    made = {}
    for time in both.found:
        if time not in times:
            continue
        known = {part: f'{part} = "{colours.plain(time)[name]}"' for part, name in colours.PARTS.items()}
        one = Reader(both.found[time], f"[colours.{time}]", known, given.problems)
        chosen = {part: colour for part in known if (colour := one.colour(part))}
        if refused := colours.refused(time, chosen):
            given.refuse(f"[colours.{time}] {refused}")
        elif chosen:
            made[time] = chosen
    return made


def beside(given: Reader, folder: Path, name: str, what: str) -> Path | None:
    """Return a file or folder of the club's; it must be below the folder of the settings."""
    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()) or not path.exists():
        given.refuse(f"{what} names “{name}”, and there is no such thing in {folder}: put it beside the settings.")
        return None
    return path


def read_page(given: Reader, folder: Path) -> Guide | None:
    """Return the welcome page, if there is one."""
    name = given.text("welcome", 120)
    path = beside(given, folder, name, "welcome") if name else None
    return gathered(given, read_welcome, path) if path else None


def read_guides(given: Reader, folder: Path, club: str) -> Iterator[Guide]:
    """Yield the club's guides, in their order."""
    name = given.text("guides", 120)
    path = beside(given, folder, name, "guides") if name else None
    found = [gathered(given, read_club_guide, each, club) for each in sorted(path.glob("*.md"))] if path else []
    if path and not found:
        given.refuse(f"guides names “{name}”, which holds no guide: a guide is a file such as {name}/first-trip.md.")
    yield from sorted(filter(None, found), key=lambda guide: (guide.order, guide.name))


def gathered(given: Reader, reading, *arguments) -> Guide | None:
    """Return a guide; what cannot be used in it is noted."""
    try:
        return reading(*arguments)
    except Trouble as problem:
        given.refuse(str(problem))
        return None


def read_set_ups(given: Reader, folder: Path) -> Iterator[ClubSetUp]:
    """Yield the club's set-ups; each must be whole."""
    known = {"file": 'file = "set-ups/tray.json"', "about": 'about = "A tray with a winch battery."'}
    taken = {*demos.NAMES, "schema"}
    for one in given.tables("set_ups", known):
        name, about = one.text("file", 120, required=True), one.text("about", 160)
        path = beside(given, folder, name, one.where) if name else None
        if not path:
            continue
        if not PLACE.fullmatch(path.stem) or path.stem in taken:
            one.refuse(
                f"{one.where} file is called “{path.stem}”; it must have a name of its own, of small letters, digits, "
                "- and _, such as tray_one.json."
            )
            continue
        taken.add(path.stem)
        try:
            text = path.read_text("utf-8")
            found = file.from_file(text)
        except UnicodeDecodeError:
            one.refuse(f"{name}: This file is damaged, or is not a set-up: it is not plain text.")
        except (OSError, SetUpError) as problem:
            one.refuse(f"{name}: {problem}")
        else:
            for problem in found.problems():
                one.refuse(f"{name}: {problem.part}: {problem.sentence}")
            yield ClubSetUp(path.stem, file.to_file(found), found.name or path.stem, about)
