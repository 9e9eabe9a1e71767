"""The built site is whole: one edition, named by its content, listed to the byte, and useful before anything runs."""

import gzip
import hashlib
import json
import re
from html.parser import HTMLParser

import pytest

import calc
from site_src import builder, icons, packing, settings


@pytest.fixture(scope="module")
def packs(dist):
    """What the service worker fetches."""
    return json.loads(re.search(r"const PACKS = (\[.*\]);", (dist / "sw.js").read_text("utf-8"))[1])


@pytest.fixture(scope="module")
def listed(packs):
    """What the service worker saves."""
    return [file for pack in packs for file in pack["files"]]


class Links(HTMLParser):
    """Collects every address that a page names."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.found += [v for k, v in attributes if k in ("href", "src") and v]


def pages(dist):
    """The pages of the site; the book in one file is of another kind, and has tests of its own."""
    return sorted(path for path in dist.rglob("*.html") if path.name != settings.ONE_FILE)


def test_list_holds_every_file_but_the_way_out(dist, listed):
    paths = {file["path"] for file in listed}
    built = {p.relative_to(dist).as_posix() for p in dist.rglob("*") if p.is_file() and p.parent.name != "pieces"}
    expected = {re.sub(r"index\.html$", "", path) for path in built - set(builder.NOT_SAVED)}
    assert paths == expected
    assert len(listed) == len(paths)


def test_list_gives_hash_type_and_size_of_each_file(dist, listed):
    for file in listed:
        place = dist / (file["path"] + "index.html" if file["path"].endswith("/") or not file["path"] else file["path"])
        data = place.read_bytes()
        assert hashlib.sha256(data).hexdigest() == file["hash"]
        assert file["type"] == settings.TYPES[place.suffix[1:]]
        assert file["bytes"] == len(data)


def test_pieces_are_whole_and_no_other_is_laid_down(dist, packs):
    pieces = {packing.place(piece["hash"]): piece for pack in packs for piece in pack["pieces"]}
    assert pieces.keys() == {p.relative_to(dist).as_posix() for p in dist.glob("pieces/*")}
    for path, piece in pieces.items():
        data = (dist / path).read_bytes()
        assert hashlib.sha256(data).hexdigest() == piece["hash"]
        assert len(data) == piece["bytes"] <= 256_000


def test_everything_for_no_signal_is_at_most_5_mb_from_a_host_that_does_not_compress(dist, packs):
    """The pieces, and what a check's page and its worker load by themselves before that."""
    edition = next((dist / "e").iterdir())
    loaded = [*edition.glob("*.*"), dist / "icons/icon.svg", dist / "manifest.webmanifest", dist / "sw.js"]
    largest = max((dist / "checks").glob("*/index.html"), key=lambda page: page.stat().st_size)
    pieces = sum(piece["bytes"] for pack in packs for piece in pack["pieces"])
    assert pieces + sum(path.stat().st_size for path in [*loaded, largest]) <= 5_000_000


def test_two_builds_are_the_same_to_the_byte(dist, tmp_path):
    again = tmp_path / "dist"
    builder.build(again, lambda words: None)
    names = {p.relative_to(dist) for p in dist.rglob("*") if p.is_file()}
    assert names == {p.relative_to(again) for p in again.rglob("*") if p.is_file()}
    assert all((dist / name).read_bytes() == (again / name).read_bytes() for name in names)


def test_another_word_makes_another_edition():
    files = {"index.html": b"one @@edition@@", "sw.js": b"const PACKS = [];\n"}
    one = builder.named_by_content(files)
    other = builder.named_by_content(files | {"index.html": b"two @@edition@@"})
    assert one["index.html"].split()[1] != other["index.html"].split()[1]


def test_no_placeholder_is_left(dist):
    for path in dist.rglob("*"):
        if path.suffix in (".html", ".js", ".css", ".webmanifest"):
            assert not re.search(r"@@|\{\{|\{%|undefined</", path.read_text("utf-8")), path


def test_every_address_on_every_page_is_in_the_site(dist):
    for path in pages(dist):
        if path.name == "404.html":
            continue
        for address in Links(path.read_text("utf-8")).found:
            assert not re.match(r"[a-z]+:|//", address), f"{path} leads out of the site: {address}"
            target = (path.parent / address.partition("#")[0]).resolve() if not address.startswith("#") else path
            assert (target / "index.html" if target.is_dir() else target).exists(), f"{path}: {address}"


@pytest.mark.parametrize("check", calc.checks().values(), ids=lambda check: check.id)
def test_check_page_is_useful_before_anything_runs(dist, check):
    text = (dist / "checks" / check.id / "index.html").read_text("utf-8")
    answer = calc.run(check.id, check.example)
    for field in check.fields:
        assert f'name="{field.name}"' in text
    for value in answer.values.values():
        assert f'data-key="{value.key}"' in text
    assert text.count("<table>") == len(check.cases) >= 1
    assert "<noscript>" in text


def test_pages_carry_the_policy_and_the_manifest(dist):
    policy = settings.PAGE_CSP.replace("'", "&#39;")
    for path in pages(dist):
        text = path.read_text("utf-8")
        assert f'content="{policy}"' in text, path
        if path.name == "404.html":
            assert all(text.count(f">{each}</") == 1 for each in (settings.LOST_STYLE, settings.LOST_SCRIPT))
            continue
        assert not re.search(r"<script(?![^>]*\bsrc=)|\son[a-z]+=|\sstyle=|<style", text), (
            f"{path} holds code of its own"
        )


def test_manifest_can_be_installed(dist):
    manifest = json.loads((dist / "manifest.webmanifest").read_text("utf-8"))
    assert {"name", "short_name", "start_url", "display", "icons"} <= set(manifest)
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    assert all((dist / icon["src"]).exists() for icon in manifest["icons"])
    assert any(icon["purpose"] == "maskable" for icon in manifest["icons"])


def test_icon_keeps_inside_what_a_mask_leaves():
    ground, *drawn = icons.RECTANGLES
    middle = icons.SQUARE / 2
    for x, y, w, h, _ in drawn:
        corners = ((x + dx - middle) ** 2 + (y + dy - middle) ** 2 for dx in (0, w) for dy in (0, h))
        assert max(corners) ** 0.5 <= 0.4 * icons.SQUARE


def test_first_page_is_small(dist):
    """At most 50 kB for the home page with all it loads before it is read, compressed as a host would."""
    edition = next((dist / "e").iterdir())
    parts = [dist / "index.html", edition / "style.css", edition / "book.js", dist / "icons/icon.svg"]
    assert sum(len(gzip.compress(part.read_bytes())) for part in parts) <= 50_000
