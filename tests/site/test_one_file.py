"""The book in one file: whole, guarded, leaning on nothing outside it, made of the edition's own pages and scripts."""

import base64
import hashlib
import json
import lzma
import re
from html import unescape

import pytest

from site_src import builder, one_file, packing, runtime, settings
from site_src.trouble import Trouble

OF_PAGES = one_file.page_scripts(
    {f"e/1/{p.name}": p.read_bytes() for p in (builder.HERE / "static").glob("*.js")}, "e/1/"
)

LARGEST = 8_000_000
"""What may still go from phone to phone by radio in a minute or two [bytes]."""


@pytest.fixture(scope="module")
def text(dist):
    return (dist / settings.ONE_FILE).read_text("utf-8")


@pytest.fixture(scope="module")
def held(text):
    """Every file that lies packed in it, by path, each checked against its hash."""
    found = {}
    for number, pack in enumerate(json.loads(re.search(r"^const PACKS = (\[.*\]);$", text, re.MULTILINE)[1])):
        packed = re.search(rf'<script type="text/plain" id="pack-{number}">(.*?)</script>', text)[1]
        assert len(packed) == pack["chars"]
        size = sum(file["bytes"] for file in pack["files"])
        unpacked = lzma.LZMADecompressor(lzma.FORMAT_RAW, filters=packing.FORM).decompress(
            base64.b64decode(packed), max_length=size
        )
        for file in pack["files"]:
            own, unpacked = unpacked[: file["bytes"]], unpacked[file["bytes"] :]
            assert hashlib.sha256(own).hexdigest() == file["hash"]
            found[file["path"]] = own
    return found


def saved(dist):
    """What phones save of the edition, by path."""
    packs = json.loads(re.search(r"const PACKS = (\[.*\]);", (dist / "sw.js").read_text("utf-8"))[1])
    paths = [file["path"] for pack in packs for file in pack["files"]]
    return {
        path: (dist / path / "index.html" if path.endswith("/") or not path else dist / path).read_bytes()
        for path in paths
    }


def test_all_that_phones_save_is_in_it(dist, held):
    """The runtime's scripts lie in the worker's one script; all else is there to the byte."""
    edition = saved(dist)
    worker = held.pop(next(path for path in held if path.endswith(one_file.ALONE))).decode()
    for path, data in edition.items():
        if path.endswith(("engine/pyodide.js", "engine/pyodide.asm.js")):
            kept = re.split(r"import\.meta\.url|\bexport\b.*$", data.decode(), flags=re.MULTILINE)
            assert all(part in worker for part in kept), path
        else:
            assert held[path] == data, path
    assert held.keys() <= edition.keys()


def test_no_phone_fetches_it(dist):
    assert settings.ONE_FILE not in saved(dist)
    worker = (dist / "sw.js").read_text("utf-8")
    assert settings.ONE_FILE in json.loads(re.search(r"^const NEVER_SAVED = (\[.*\]);$", worker, re.MULTILINE)[1])


def test_it_is_as_large_as_its_links_say(dist):
    size = (dist / settings.ONE_FILE).stat().st_size
    assert size <= LARGEST
    assert f"{size / 1e6:.0f} MB" == settings.ONE_FILE_SIZE
    assert f'href="../{settings.ONE_FILE}" download' in (dist / "about/index.html").read_text("utf-8")
    assert 'href="./about/#one-file"' in (dist / "index.html").read_text("utf-8")


def test_it_names_nothing_outside_it(text):
    shown = re.sub(r"<script.*?</script>|<style>.*?</style>", "", text, flags=re.DOTALL)
    addresses = re.findall(r'\b(?:src|srcset|href|action|poster|data)="([^"]*)"', shown)
    assert len(addresses) > 40
    assert [each for each in addresses if not re.match(r"#|data:image/svg\+xml;base64,", each)] == []
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)[1]
    assert not re.search(r"url\(|@import", style)


def test_its_policy_names_its_script_and_style_and_lets_nothing_be_fetched(text):
    def digest(tag):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)[1]
        return f"'sha256-{base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()}'"

    policy = dict(
        part.split(" ", 1)
        for part in unescape(re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1]).split("; ")
    )
    assert policy == {
        "default-src": "'none'",
        "script-src": f"{digest('script')} 'wasm-unsafe-eval'",
        "style-src": digest("style"),
        "img-src": "data:",
        "worker-src": "blob:",
        "form-action": "'none'",
        "base-uri": "'none'",
    }
    assert set(re.findall(r"<script[^>]*>", text)) - {"<script>"} == {
        f'<script type="text/plain" id="{name}">' for name in ("unpacker", *(f"pack-{n}" for n in range(5)))
    }


ELSEWHERE = re.compile(
    r"document\.(?:getElement|querySelector|addEventListener)|\b(?:location|history|fetch)\b|(?<![.\w])addEventListener"
)


OF_THE_PLACE = "sparing.js"
"""It runs once in the file, for whatever page is shown."""


@pytest.mark.parametrize("name", sorted(OF_PAGES.keys() - {*builder.NOT_SAVED, "unpack.js", OF_THE_PLACE}))
def test_a_script_of_a_page_asks_only_its_place_where_it_is(name):
    """What it asked the document or the window would be another page's in the file."""
    assert ELSEWHERE.findall(re.sub(r"//.*", "", OF_PAGES[name])) == []


# Modules put together


RUN = """
const { readFileSync } = require("node:fs");
const given = '{ "given.js": { words: () => "given" } }';
const run = new Function(`${readFileSync(0, "utf8")}; return together(${given})("main.js");`);
Promise.resolve(run().told()).then((told) => console.log(JSON.stringify(told)));
"""

MODULES = {
    "one.js": "let count = 0;\nexport const more = () => { count += 1; return count; };\nexport class One { n = 3; }\n",
    "other.js": 'import { more } from "./one.js";\nexport async function later() { return more(); }\n',
    "listed.js": "const a = 7, b = 8;export{a as seven,b};\n",
    "only.js": "const it = 9;\nexport default it;\n",
    "main.js": (
        'import * as one from "./one.js";\nimport { later as soon } from "./other.js";\n'
        'import { words } from "./given.js";\nimport { b, seven } from "./listed.js";\n'
        "export const told = async () => [one.more(), await soon(), new one.One().n, words(), b, seven,\n"
        '  (await import("./only.js")).default, new URL("x", import.meta.url).href];\n'
    ),
}


def test_modules_put_together_run_as_they_would_apart(tmp_path):
    program = tmp_path / "run.cjs"
    program.write_text(RUN, "utf-8")
    script = one_file.modules(MODULES) + one_file.own("together.js")
    told = runtime.call([runtime.node(), program], "The modules failed under node.", script)
    assert json.loads(told) == [1, 2, 3, "given", 8, 7, 9, "file:///x"]


@pytest.mark.parametrize(
    "written",
    ['import a from "./b.js";', 'import "./b.js";', 'export * from "./b.js";', "export let a = 1;", "import.meta.env"],
)
def test_a_module_that_is_written_in_another_way_is_refused(written):
    with pytest.raises(Trouble, match="odd.js is written in a way"):
        one_file.as_function("odd.js", f"{written}\n")


def test_a_script_that_would_end_itself_is_refused():
    with pytest.raises(Trouble, match="would end it"):
        one_file.inert('const a = "</script>";')
