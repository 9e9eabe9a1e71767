"""Builds the site: every page, the engine, and the edition that ties them together, from the declarations in `calc`."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

from markupsafe import Markup

import calc
from calc.check import Cases, Check
from calc.physics.cable_sizes import FAMILIES, catalogue
from calc.setup import demos, file
from calc.setup.model import LONGEST_NAME, LONGEST_TEXT, MODEL, Model
from calc.setup.parts import ASKED
from calc.sources import SOURCES, cite
from calc.tables import NAMES, Table, table
from site_src import guides, icons, runtime, settings
from site_src.render import answer_html, pictures_html, working_html
from site_src.templating import rendered

HERE = Path(__file__).parent
ROOT = HERE.parent
EDITION = "@@edition@@"
"""Stands for the edition's name in every file until all are made and their hash is known."""

PACKED_ABOVE = 50_000
"""A file of the engine that is larger is also laid down gzipped, for hosts that do not compress [bytes]."""

ON_THE_PHONE = (
    "__init__.py",
    "drawing.py",
    "plot.py",
    "render.py",
    "set_up_page.py",
    "templating.py",
    "templates/answer.html",
    "templates/missing_of_answer.html",
    "templates/pictures.html",
    "templates/set_up_compare.html",
    "templates/set_up_missing.html",
    "templates/set_up_notes.html",
    "templates/set_up_summary.html",
    "templates/working.html",
)
"""What of this folder runs on the phone too, beside all of `calc`."""

NOT_SAVED = ("sw.js", "reset.html", "reset.js", "404.html")
"""Files that always come from the network: the worker that saves the rest, and the way out."""

EXERCISE = """
import json
import calc
from calc.setup import demos
from site_src.render import reply

for check in calc.checks().values():
    answered = json.loads(reply(json.dumps({"check": check.id, "inputs": dict(check.example)})))
    assert answered["answer"] and answered["working"], check.id
    refused = json.loads(reply(json.dumps({"check": check.id, "inputs": {f.name: "5 kg" for f in check.fields}})))
    assert refused["errors"], check.id
    json.dumps(calc.run(check.id, dict(check.example)).to_dict())
for name in demos.NAMES:
    text = demos.text(name)
    seen = json.loads(reply(json.dumps({"do": "look", "set_up": text})))
    assert seen["drawing"] and seen["link"], seen
    opened = json.loads(reply(json.dumps({"do": "open", "link": seen["link"]})))
    assert opened["set_up"] == seen["set_up"]
    assert "table" in json.loads(reply(json.dumps({"do": "compare", "set_ups": [text, opened["set_up"]]})))
    assert "svg" in json.loads(reply(json.dumps({"do": "code", "address": "#set-up=" + seen["link"]})))["code"]
    for check in calc.checks().values():
        inputs = {name: each for name, each in check.example.items() if name not in check.starts}
        answered = json.loads(reply(json.dumps({"check": check.id, "inputs": inputs, "set_up": text})))
        assert answered["starts"], answered
        for give in answered["gives"]:
            json.loads(reply(json.dumps({"do": "write", "set_up": text, **give})))["set_up"]
assert "error" in json.loads(reply(json.dumps({"do": "open", "link": "1abc"})))
for text in ("1,5", "1e400", "9" * 100, "x", "20 ft", "104 degF", "3 furlongs"):
    reply(json.dumps({"check": "cable-drop", "inputs": {"current": text, "length": text}}))
"""
"""Uses the whole book once; what it imports is what ships. See `site_src.runtime`."""

Files = dict[str, bytes]


def build(out: Path, say: Callable[[str], None]) -> None:
    """Build the whole site into a folder, which is made from scratch."""
    say("Writing the pages ...")
    files = pages() | static() | {f"e/{EDITION}/engine/{name}": data for name, data in engine(say).items()}
    files = named_by_content(files)
    shutil.rmtree(out, ignore_errors=True)
    for path, data in (files | packed(files)).items():
        target = out / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    say(f"{len(files)} files in {out}, {sum(map(len, files.values())) / 1e6:.1f} MB.")


# Pages


def pages() -> Files:
    """Return every page by its path."""
    every_guide = guides.all_guides()
    made = {"index.html": home(every_guide), "guides/index.html": guide_list(every_guide)}
    made |= {f"checks/{check.id}/index.html": check_page(check, every_guide) for check in calc.checks().values()}
    made |= {f"guides/{guide.name}/index.html": guide_page(guide) for guide in every_guide}
    made |= {"set-ups/index.html": set_ups_page(), "set-ups/edit/index.html": set_up_edit_page(), **set_up_files()}
    made |= {
        "sources/index.html": sources_page(),
        "about/index.html": about_page(),
        "reference/index.html": reference_page(),
    }
    made |= {"missing/index.html": missing_page("../"), "404.html": missing_page("")}
    made["reset.html"] = page("reset.html", "", "", "")
    return made


def page(template: str, root: str, title: str, description: str, **fills) -> bytes:
    """Return a page: `root` leads from its folder to the site's start."""
    whole_title = f"{title} · {settings.NAME}" if title else settings.NAME
    filled = rendered(
        template,
        root=root or "./",
        title=whole_title,
        description=description or settings.DESCRIPTION,
        settings=settings,
        page_policy=settings.PAGE_CSP,
        edition=EDITION,
        **{"script": None, **fills},
    )
    return filled.encode()


def home(every_guide: list[guides.Guide]) -> bytes:
    """Return the home page: the questions first, then everything by task."""
    tasks = []
    for key, heading in settings.TASKS:
        links = [
            {"path": f"checks/{c.id}/", "title": c.title, "summary": c.question}
            for c in calc.checks().values()
            if c.task == key
        ]
        links += [
            {"path": f"guides/{g.name}/", "title": g.title, "summary": g.summary} for g in every_guide if g.task == key
        ]
        tasks.append({"key": key, "heading": heading, "links": links})
    filled = [task for task in tasks if task["links"]]
    return page("home.html", "", "", "", checks=calc.checks().values(), tasks=filled, demos=demo_list())


def check_page(check: Check, every_guide: list[guides.Guide]) -> bytes:
    """Return a check's page: form, worked example, tables of common cases."""
    example = calc.run(check.id, check.example)
    return page(
        "check.html",
        "../../",
        check.title,
        f"{check.question} {check.about}",
        script="form.js",
        check=check,
        example_answer=Markup(answer_html(example)),
        example_pictures=Markup(pictures_html(example)),
        example_working=Markup(working_html(example)),
        size_groups=size_groups(),
        tables=[case_table(check, cases) for cases in check.cases],
        guides=[guide for guide in every_guide if guide.name in check.guides],
    )


def case_table(check: Check, cases: Cases) -> dict:
    """Return a table of common cases, each cell an answer."""

    def cell(row: dict, column: dict) -> str:
        return calc.run(check.id, {**cases.inputs, **row, **column}).values[cases.shows].text

    return {
        "caption": cases.caption,
        "headings": [heading for heading, _ in cases.columns],
        "rows": [(heading, [cell(row, column) for _, column in cases.columns]) for heading, row in cases.rows],
    }


def size_groups() -> list[tuple]:
    """Return the cable sizes to pick from, by family."""
    return [(FAMILIES[family], sizes) for family, sizes in catalogue().items()]


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
    """Return the schema of a set-up's file, and the invented ones."""
    schema = json.dumps(file.schema(), ensure_ascii=False, indent=1).encode()
    return {"set-ups/schema.json": schema} | {f"set-ups/{name}.json": demos.text(name).encode() for name in demos.NAMES}


def guide_list(every_guide: list[guides.Guide]) -> bytes:
    """Return the list of guides."""
    return page("guides.html", "../", "Guides", "Short guides to a second battery.", guides=every_guide)


def guide_page(guide: guides.Guide) -> bytes:
    """Return a guide's page."""
    related = [calc.checks()[name] for name in guide.checks]
    body = Markup(guides.body(guide, "../../"))
    return page("guide.html", "../../", guide.title, guide.summary, guide=guide, body=body, related=related)


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


def missing_page(root: str) -> bytes:
    """Return the page for an address that is not in the book."""
    return page("missing.html", root, "No such page", "")


# Files beside the pages


def static() -> Files:
    """Return scripts, style, icons and manifest. What a page loads lies in its edition's own folder."""
    tokens = {"@@paper@@": settings.PAPER, "@@night@@": settings.NIGHT, "@@policy@@": settings.CSP}
    made = {}
    for path in sorted((HERE / "static").iterdir()):
        text = path.read_text("utf-8")
        for token, filled in tokens.items():
            text = text.replace(token, filled)
        place = path.name if path.name in NOT_SAVED else f"e/{EDITION}/{path.name}"
        made[place] = text.encode()
    made |= {"icons/icon.svg": icons.svg(), **{f"icons/icon-{size}.png": icons.png(size) for size in (192, 512)}}
    made["manifest.webmanifest"] = json.dumps(manifest(), indent=1).encode()
    return made


def manifest() -> dict:
    """Return the web app manifest."""
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
    done["sw.js"] = filled_worker(named(worker).decode(), done).encode()
    return done


def filled_worker(text: str, files: Files) -> str:
    """Return the service worker with the list of what it saves."""
    listed = [entry(path, data) for path, data in sorted(files.items()) if path not in NOT_SAVED]
    filled, count = re.subn(r"const FILES = \[\];.*", lambda _: f"const FILES = {json.dumps(listed)};", text)
    if count != 1:
        raise ValueError("sw.js has to hold “const FILES = [];” once")
    return filled


def entry(path: str, data: bytes) -> dict:
    """Return a file as the service worker lists it: under the address that shows it, with its hash and its cost."""
    small = squeezed(path, data)
    return {
        "path": re.sub(r"index\.html$", "", path),
        "hash": hashlib.sha256(data).hexdigest(),
        "type": settings.TYPES[path.rsplit(".", 1)[1]],
        "bytes": len(small or data),
        "packed": small is not None,
    }


def squeezed(path: str, data: bytes) -> bytes | None:
    """Return a large file of the engine gzipped, None for any other file."""
    if "/engine/" not in path or len(data) < PACKED_ABOVE:
        return None
    return runtime.gzipped(data)


def packed(files: Files) -> Files:
    """Return the gzipped copies of the engine's large files, beside them."""
    return {f"{path}.gz": small for path, data in files.items() if (small := squeezed(path, data))}
