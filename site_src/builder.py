"""Builds the site: every page, the engine, and the edition that ties them together, from the declarations in `calc`."""

from __future__ import annotations

import hashlib
import json
import posixpath
import re
import shutil
from collections.abc import Callable
from pathlib import Path

from markupsafe import Markup

import calc
from calc import edition as answering
from calc.check import Cases, Check
from calc.physics.cable_sizes import FAMILIES, catalogue
from calc.setup import demos, file
from calc.setup.model import LONGEST_NAME, LONGEST_TEXT, MODEL, Model
from calc.setup.parts import ASKED
from calc.sources import SOURCES, cite
from calc.tables import NAMES, Table, table
from site_src import ahead, colours, edition, edition_file, guides, icons, one_file, packing, runtime
from site_src.answers import asked
from site_src.finder_page import points_of
from site_src.render import answer_html, guided_html, pictures_html, working_html
from site_src.settings import ONE_FILE
from site_src.templating import rendered
from site_src.trouble import Trouble

HERE = Path(__file__).parent
ROOT = HERE.parent
EDITION = "@@edition@@"
"""Stands for the edition's name in every file until all are made and their hash is known."""

ON_THE_PHONE = (
    "__init__.py",
    "drawing.py",
    "exercise.py",
    "finder_page.py",
    "plot.py",
    "probes.py",
    "render.py",
    "set_up_page.py",
    "templating.py",
    "templates/answer.html",
    "templates/finder_causes.html",
    "templates/finder_question.html",
    "templates/missing_of_answer.html",
    "templates/pictures.html",
    "templates/set_up_compare.html",
    "templates/set_up_missing.html",
    "templates/set_up_notes.html",
    "templates/set_up_summary.html",
    "templates/working.html",
)
"""What of this folder runs on the phone too, beside all of `calc`."""

NOT_SAVED = ("sw.js", "reset.html", "reset.js", "404.html", ONE_FILE)
"""Files that always come from the network: the worker that saves the rest, the way out, and the book to pass on."""

EXERCISE = "from site_src.exercise import use_all; use_all()"
"""Uses the whole book once; what it imports is what ships. See `site_src.exercise` and `site_src.runtime`."""

Files = dict[str, bytes]


def build(out: Path, say: Callable[[str], None], club: Path | None = None) -> None:
    """Build the whole site into a folder, which is made from scratch; `club` names the settings of a club's edition."""
    with edition.building(edition_file.read(club) if club else edition.PLAIN):
        say("Writing the pages ...")
        made = pages()
        refuse_dead_links(made)
        files = made | static() | {f"e/{EDITION}/engine/{name}": data for name, data in engine(say).items()}
        files = named_by_content(files)
        files[ONE_FILE] = in_one_file(files)
    shutil.rmtree(out, ignore_errors=True)
    for path, data in files.items():
        target = out / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    say(f"{len(files)} files in {out}, {sum(map(len, files.values())) / 1e6:.1f} MB.")


# Pages


def pages() -> Files:
    """Return every page by its path."""
    every_guide = guides.all_guides()
    done = ahead.worked_out(ahead.slow(every_guide))
    made = {"index.html": home(every_guide), "guides/index.html": guide_list(every_guide)}
    made |= {f"checks/{check.id}/index.html": check_page(check, every_guide) for check in calc.checks().values()}
    made |= {f"guides/{guide.name}/index.html": guide_page(guide, done.get(("body", guide))) for guide in every_guide}
    made |= {"set-ups/index.html": set_ups_page(), "set-ups/edit/index.html": set_up_edit_page(), **set_up_files()}
    made |= {
        "sources/index.html": sources_page(),
        "about/index.html": about_page(),
        "reference/index.html": reference_page(),
    }
    made |= {"missing/index.html": missing_page(), "404.html": lost_page(), **welcome_page()}
    made["reset.html"] = page("reset.html", "", "", "")
    return made


def page(template: str, root: str, title: str, description: str, **fills) -> bytes:
    """Return a page: `root` leads from its folder to the site's start."""
    settings = edition.current().settings
    whole_title = f"{title} · {settings.NAME}" if title else settings.NAME
    filled = rendered(
        template,
        root=root or "./",
        title=whole_title,
        description=description or settings.DESCRIPTION,
        settings=settings,
        edition=EDITION,
        club=edition.current(),
        **{"page_policy": settings.PAGE_CSP, "script": None, "alone": None, **fills},
    )
    return filled.encode()


def home(every_guide: list[guides.Guide], root: str = "", **fills) -> bytes:
    """Return the home page: by task, the questions and what there is to read."""
    tasks = [
        {
            "key": key,
            "heading": heading,
            "checks": [check for check in calc.checks().values() if check.task == key],
            "guides": [guide for guide in every_guide if guide.task == key and not guide.club],
        }
        for key, heading in edition.current().settings.TASKS
    ]
    return page("home.html", root, "", "", tasks=tasks, demos=demo_list(), **fills)


def home_alone(policy: str, alone: dict) -> bytes:
    """Return the home page of the book in one file, which holds all else in itself; see `site_src.one_file`."""
    return home(guides.all_guides(), "#/", page_policy=policy, alone=alone)


def check_page(check: Check, every_guide: list[guides.Guide]) -> bytes:
    """Return a check's page: form, worked example, tables of common cases."""
    example = asked(check.id, **check.example)
    begun = asked(check.id) if example.search else None
    return page(
        "check.html",
        "../../",
        check.title,
        f"{check.question} {check.about}",
        script="form.js",
        check=check,
        example_answer=Markup(answer_html(example)),
        example_pictures=Markup(pictures_html(example, fills=False)),
        example_working=Markup(working_html(example)),
        fills=any(sheet.places for sheet in example.sheets),
        begun=Markup(guided_html(begun)) if begun else "",
        points=points_of(begun.search) if begun else (),
        size_groups=size_groups(),
        tables=[case_table(check, cases) for cases in check.cases],
        guides=[g for g in every_guide if g.name in check.guides or g.club and check.id in g.checks],
    )


def case_table(check: Check, cases: Cases) -> dict:
    """Return a table of common cases, each cell an answer."""

    def cell(row: dict, column: dict) -> str:
        text = asked(check.id, **{**cases.inputs, **row, **column}).values[cases.shows].text
        return text.replace("\u00a0to\u00a0", "\u00a0to ")  # a range may break, or few columns fit a phone

    return {
        "caption": cases.caption,
        "headings": [heading for heading, _ in cases.columns],
        "rows": [(heading, [cell(row, column) for _, column in cases.columns]) for heading, row in cases.rows],
    }


def size_groups() -> list[tuple]:
    """Return the cable sizes to pick from, by family, as the region offers them."""
    return [(FAMILIES[family], catalogue()[family]) for family in edition.current().answers.region.families]


def demo_list() -> list[dict]:
    """Return the invented set-ups: the name of the file, what it is called, and its story."""
    return [{"file": name, "name": demos.demo(name).name, "story": demos.STORIES[name]} for name in demos.NAMES]


def usual_texts(model: Model) -> dict[str, str]:
    """Return what each unknown of a set-up counts as, in words, by "<part>.<field>"."""
    return {
        f"{part.key}.{each.name}": each.read(model.usual[f"{part.key}.{each.name}"].text, {}).text
        for part, each in model.fields()
    }


def usual_ranges(model: Model) -> dict[str, str]:
    """Return the spread of each unknown in words, " (3 m to 9 m)", or "" for a choice."""
    found = {}
    for part, each in model.fields():
        usual = model.usual[f"{part.key}.{each.name}"]
        ends = [each.read(text, {}).text for text in (usual.low, usual.high) if text]
        found[f"{part.key}.{each.name}"] = f" ({' to '.join(ends)})" if ends else ""
    return found


def set_ups_page() -> bytes:
    """Return the page of all set-ups."""
    about = "Describe a vehicle once, and every question starts from it."
    return page(
        "set_ups.html", "../", "Your set-ups", about, script="set-ups.js", demos=demo_list(), longest_name=LONGEST_NAME
    )


def set_up_edit_page(model: Model = MODEL) -> bytes:
    """Return the page on which a vehicle is described, its questions made from the declaration."""
    known = {part.key: part for part in model.parts}
    return page(
        "set_up_edit.html",
        "../../",
        "Describe your vehicle",
        "A few questions a screen; leave open what you do not know.",
        script="set-up-edit.js",
        parts=[known[key] for key in ASKED],
        usuals=model.usual,
        usual_texts=usual_texts(model),
        usual_ranges=usual_ranges(model),
        size_groups=size_groups(),
        format=file.FORMAT,
        version=file.VERSION,
        longest_name=LONGEST_NAME,
        longest_text=LONGEST_TEXT,
    )


def set_up_files() -> Files:
    """Return the schema of a set-up's file, the invented ones, and a club's."""
    schema = json.dumps(file.schema(), ensure_ascii=False, indent=1).encode()
    texts = {name: demos.text(name) for name in demos.NAMES} | {one.file: one.text for one in edition.current().set_ups}
    return {"set-ups/schema.json": schema} | {f"set-ups/{name}.json": text.encode() for name, text in texts.items()}


def guide_list(every_guide: list[guides.Guide]) -> bytes:
    """Return the list of guides."""
    return page("guides.html", "../", "Guides", "Short guides to a second battery.", guides=every_guide)


def guide_page(guide: guides.Guide, body: str | None = None) -> bytes:
    """Return a guide's page; its body may have been worked out before."""
    related = [calc.checks()[name] for name in guide.checks]
    body = Markup(body or guides.body(guide, guides.ABOVE))
    return page("guide.html", guides.ABOVE, guide.title, guide.summary, guide=guide, body=body, related=related)


def welcome_page() -> Files:
    """Return a club's welcome page, if it has one."""
    guide = edition.current().welcome
    if not guide:
        return {}
    fills = {"guide": guide, "body": Markup(guides.body(guide, "../")), "related": []}
    return {f"{guides.WELCOME}/index.html": page("guide.html", "../", guide.title, guide.summary, **fills)}


def refuse_dead_links(made: Files) -> None:
    """Raise Trouble where what a club wrote leads to what is not in the book."""
    written = {f"guides/{guide.name}/index.html": guide for guide in edition.current().guides}
    if edition.current().welcome:
        written[f"{guides.WELCOME}/index.html"] = edition.current().welcome
    for path, guide in written.items():
        article = re.search(r"<article>.*</article>", made[path].decode(), re.DOTALL)[0]
        for address in re.findall(r'<a href="([^"#]+)', article):
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), address))
            is_there = not {target, posixpath.normpath(f"{target}/index.html")}.isdisjoint(made)
            if not is_there and not re.match(r"(?:https|mailto):", address):
                raise Trouble(
                    f"{guide.file} leads to “{address}”, which is not in the book. A page of it is named so: "
                    '{{ page("set-ups", "your set-ups") }}; another site with https://.'
                )


def sources_page() -> bytes:
    """Return the page of sources and published tables."""

    def shown(one: Table) -> dict:
        return {"head": one.head, "source": cite(one.head["source"]), "columns": one.columns, "rows": one.rows}

    tables = [shown(table(name)) for name in NAMES]
    return page("sources.html", "../", "Sources and assumptions", "", sources=SOURCES.values(), tables=tables)


def about_page() -> bytes:
    """Return the page on the book itself."""
    return page("about.html", "../", "About and keeping it", "")


def reference_page(model: Model = MODEL) -> bytes:
    """Return the page that lists every field and value, for scripts and contributors."""
    fills = {"checks": calc.checks().values(), "parts": model.parts, "usual_texts": usual_texts(model)}
    return page("reference.html", "../", "Reference", "Every field and value.", **fills)


def missing_page() -> bytes:
    """Return the page that the worker shows for an address that is not in the book."""
    return page("missing.html", "../", "No such page", "")


def lost_page() -> bytes:
    """Return the page that a host shows for such an address, at any depth."""
    return page("lost.html", "", "No such page", "")


# Files beside the pages


def static() -> Files:
    """Return scripts, style, icons and manifest. What a page loads lies in its edition's own folder."""
    here, settings = edition.current(), edition.current().settings
    tokens = {
        "@@paper@@": settings.PAPER,
        "@@night@@": settings.NIGHT,
        "@@policy@@": settings.CSP,
        "@@one_file@@": ONE_FILE,
    }
    texts = {path.name: path.read_text("utf-8") for path in sorted((HERE / "static").iterdir())}
    if here.colours:
        texts["style.css"] = colours.styled(texts["style.css"], {time: here.palette(time) for time in colours.TIMES})
    texts["sw.js"] = filled_once(texts["sw.js"], "const unpack = null;", texts.pop("unpack.js"))
    made = {}
    for name, text in texts.items():
        for token, filled in tokens.items():
            text = text.replace(token, filled)
        made[name if name in NOT_SAVED else f"e/{EDITION}/{name}"] = text.encode()
    made["icons/icon.svg"] = icons.svg(here.icon)
    made |= {f"icons/icon-{size}.png": icons.png(size, here.icon) for size in (192, 512)}
    made["manifest.webmanifest"] = json.dumps(manifest(), indent=1).encode()
    return made


def manifest() -> dict:
    """Return the web app manifest."""
    settings = edition.current().settings
    sizes = [{"src": f"icons/icon-{n}.png", "sizes": f"{n}x{n}", "type": "image/png"} for n in (192, 512)]
    return {
        "id": "./",
        "name": settings.NAME,
        "short_name": settings.SHORT_NAME,
        "description": settings.DESCRIPTION,
        "lang": settings.LANGUAGE,
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "theme_color": settings.NIGHT,
        "background_color": settings.PAPER,
        "icons": [{**icon, "purpose": "any"} for icon in sizes] + [{**sizes[1], "purpose": "maskable"}],
    }


def engine(say: Callable[[str], None]) -> Files:
    """Return the engine's files with our own code in them, and the licences of what others wrote."""
    files = runtime.engine_files(book_sources(), say, EXERCISE)
    if edition.current().club:  # added to what was proved, as it is words only
        own = {f"calc/{answering.FILE}": edition.current().answers.to_text().encode()}
        files["book.zip"] = runtime.stored_zip(runtime.unzipped(files["book.zip"]) | own)
    return files | {"licences.txt": runtime.licences(say).encode()}


def book_sources() -> Files:
    """Return what runs on the phone, by its path in the archive."""
    paths = [*(ROOT / "calc").rglob("*"), *(HERE / name for name in ON_THE_PHONE)]
    kept = (".py", ".csv", ".txt", ".json", ".html")
    return {p.relative_to(ROOT).as_posix(): p.read_bytes() for p in sorted(paths) if p.suffix in kept}


# The edition


def named_by_content(files: Files) -> Files:
    """Return the files with the edition's name in them, and the worker that saves them as one."""
    worker = files["sw.js"]
    content = hashlib.sha256()
    for path in sorted(files):
        content.update(path.encode() + b"\0" + hashlib.sha256(files[path]).digest())
    name = content.hexdigest()[:12]

    def named(data: bytes) -> bytes:
        return data.replace(EDITION.encode(), name.encode())

    done = {path.replace(EDITION, name): named(data) for path, data in files.items()}
    packs, pieces = packing.packed({path: data for path, data in done.items() if path not in NOT_SAVED})
    listed = f"const PACKS = {json.dumps(packs)};\n"
    done["sw.js"] = filled_once(named(worker).decode(), "const PACKS = [];", listed).encode()
    return done | pieces


def in_one_file(files: Files) -> bytes:
    """Return the book in one file: all that phones save of an edition."""
    saved = {path: data for path, data in files.items() if path not in NOT_SAVED and not path.startswith("pieces/")}
    name = next(path.split("/")[1] for path in saved if path.startswith("e/"))
    return one_file.folded(saved, home_alone).replace(EDITION.encode(), name.encode())


def filled_once(text: str, gap: str, filling: str) -> str:
    """Return the service worker with one line, which begins with the gap, filled."""
    before, _, after = re.split(f"^({re.escape(gap)}.*\n)", text, flags=re.MULTILINE)
    return f"{before}{filling}{after}"
