"""Folds a built edition into one HTML file that opens from anywhere, with no server: pages, scripts, style and engine.

The home page stands in it as it is, so that it can be read before any script runs. The rest lies at the end of the
file as text: packs of the edition's own files, squeezed as for phones. Scripts are the edition's own, put together.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable
from pathlib import Path

from markupsafe import Markup

from site_src import packing, settings
from site_src.settings import named_by_hash
from site_src.trouble import Trouble

HERE = Path(__file__).parent

WORKER_SCRIPTS = ("engine/pyodide.asm.js", "engine/pyodide.js", "worker.js")
"""Modules of the worker that runs Python."""

NEED_A_HOST = ("book.js", "place.js", "workers.js", "snapshot.js")
"""Modules for which the file has something else in their place, in alone/."""

ALONE = "alone.js"
"""The name, among the engine's files, of the whole script of its worker."""

STYLE = """
html[data-runs] #only-this { display: none; }
html[data-turning] main { visibility: hidden; }
h1:focus { outline: none; }
"""

POLICY = (
    "default-src 'none'",
    "script-src {script} 'wasm-unsafe-eval'",
    "style-src {style}",
    "img-src data:",
    "worker-src blob:",
    "form-action 'none'",
    "base-uri 'none'",
)
"""What the file may do: run its own script and its own workers, and fetch nothing."""

IMPORT = re.compile(r'^import (?:\{([^}]*)\}|\* as (\w+)) from "\./([\w./-]+)";$', re.MULTILINE)
LATER_IMPORT = re.compile(r'\bimport\("\./([\w./-]+)"\)')
EXPORT = re.compile(r"^export (?=(?:async )?(?:const|function|class) (\w+))", re.MULTILINE)
EXPORT_LIST = re.compile(r"\bexport ?\{([^}]*)\};?\s*$")
EXPORT_DEFAULT = re.compile(r"\bexport default (\w+);\s*$")

Files = dict[str, bytes]


def folded(files: Files, home: Callable[..., bytes]) -> bytes:
    """Return the file.

    Parameters
    ----------
    files : the edition by path, as phones save it
    home : renders the home page for a file that stands alone, given what it holds in itself
    """
    edition = next(path for path in files if path.endswith("/book.js")).removesuffix("book.js")
    packs = [packed(group) for group in groups(files, edition)]
    listed = [{"files": files, "chars": len(text)} for files, text in packs]
    script = shell(page_scripts(files, edition), listed)
    style = files[f"{edition}style.css"].decode() + STYLE
    policy = "; ".join(POLICY).format(script=named_by_hash(script), style=named_by_hash(style))
    alone = {
        "icon": f"data:image/svg+xml;base64,{base64.b64encode(files['icons/icon.svg']).decode()}",
        "script": inert(script),
        "style": Markup(style),
        "unpacker": inert(own("unpacker.js") + (HERE / "static/unpack.js").read_text("utf-8")),
        "packs": [text for _, text in packs],
    }
    return home(policy, alone)


# What it holds


def groups(files: Files, edition: str) -> list[Files]:
    """Return the files of each pack: the pages as phones fetch them, and the engine with its worker's whole script."""
    engine = f"{edition}engine/"

    def some(*names: str) -> Files:
        return {engine + name: files[engine + name] for name in names}

    worker = worker_script({name: (files[edition + name]).decode() for name in WORKER_SCRIPTS})
    return [
        {path: files[path] for path in packing.together(files)[-1]},
        some("pyodide.asm.wasm", "pyodide-lock.json"),
        *(some(name) for name in packing.APART),
        some("licences.txt") | {engine + ALONE: worker.encode()},
    ]


def packed(group: Files) -> tuple[list[dict], str]:
    """Return the files of a pack as the worker lists them, and the pack as text."""
    small = packing.squeezed(b"".join(group.values()))
    return [packing.entry(path, data) for path, data in group.items()], base64.b64encode(small).decode()


def own(name: str) -> str:
    """Return a script that only this file has."""
    return (HERE / "alone" / name).read_text("utf-8")


def page_scripts(files: Files, edition: str) -> dict[str, str]:
    """Return the modules of pages."""
    names = {path: path.removeprefix(edition) for path in files if path.startswith(edition) and path.endswith(".js")}
    other = (*WORKER_SCRIPTS, *NEED_A_HOST)
    return {name: files[path].decode() for path, name in sorted(names.items()) if name not in other}


def shell(scripts: dict[str, str], listed: list[dict]) -> str:
    """Return the script of the file: the modules of pages, and what shows the pages."""
    facts = f"const NAME = {quoted(settings.ONE_FILE)};\nconst PACKS = {json.dumps(listed)};\n"
    return enclosed(modules(scripts) + own("together.js") + facts + own("shell.js"))


def worker_script(scripts: dict[str, str]) -> str:
    """Return the whole script of the worker that runs Python."""
    return enclosed(modules(scripts) + own("together.js") + own("worker.js"))


def enclosed(text: str) -> str:
    """Return a script of which nothing is seen from outside."""
    return f'{{\n"use strict";\n{text}}}\n'


def inert(script: str) -> Markup:
    """Return a script as it may stand in a page: nothing in it ends it."""
    if re.search("</script|<!--", script, re.IGNORECASE):
        raise Trouble("A script holds what would end it inside a page: write it in two parts.")
    return Markup(script)


# Modules put together


def modules(scripts: dict[str, str]) -> str:
    """Return modules as functions by name; see alone/together.js."""
    return "const modules = {\n" + "".join(as_function(name, text) for name, text in scripts.items()) + "};\n"


def as_function(name: str, text: str) -> str:
    """Return a module as a function that gives what it exports.

    It knows the ways in which the book's own modules and the runtime's are written, and takes no other.
    """

    def imported(found: re.Match) -> str:
        names, whole, file = found.groups()
        return f"const {whole or '{' + names.replace(' as ', ': ') + '}'} = use({quoted(file)});"

    given = {exported: exported for exported in EXPORT.findall(text)}
    for pair in re.split(r",\s*", (EXPORT_LIST.search(text) or ["", ""])[1]):
        local, _, exported = pair.partition(" as ")
        given |= {exported or local: local} if local else {}
    given |= {"default": found[1]} if (found := EXPORT_DEFAULT.search(text)) else {}
    body = IMPORT.sub(imported, text)
    body = LATER_IMPORT.sub(lambda found: f"Promise.resolve().then(() => use({quoted(found[1])}))", body)
    for form in (EXPORT, EXPORT_LIST, EXPORT_DEFAULT):
        body = form.sub("", body)
    body = body.replace("import.meta.url", quoted(f"file:///{name}"))
    if found := re.search(r"^.*(?:^import\b|\bimport\.meta|\bexport (?:default|\{)|^export\b).*$", body, re.MULTILINE):
        raise Trouble(f"{name} is written in a way that site_src/one_file.py does not know: {found[0][:120]}")
    made = ", ".join(f"{exported}: {local}" for exported, local in given.items())
    return f"{quoted(name)}(use) {{\n{body}\nreturn {{ {made} }};\n}},\n"


def quoted(text: str) -> str:
    """Return a text as a script writes it."""
    return json.dumps(text)
