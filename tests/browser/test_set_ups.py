"""Set-ups on a phone: kept whatever happens, given to others without taking anything, refused with a sentence."""

from __future__ import annotations

import base64
import io
import json
import zlib

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, expect

from calc.setup import consistency, file, link
from calc.setup.model import LONGEST_NAME, SetUp, take_in
from tests.browser.conftest import edition, on_show, visit, wait_for
from tests.browser.host import Host
from tests.browser.set_ups import (
    DEMOS,
    VAN,
    chosen,
    clear,
    edit,
    entry,
    keep,
    kept,
    link_on_show,
    look_at,
    step,
    written,
)
from tests.browser.test_look import look, open_all
from tests.browser.test_update import LOOK
from tests.calc.set_up_strategies import fullest

TRUCK = DEMOS["desert_truck"]


def as_data(set_up: SetUp) -> dict:
    """Return a set-up as its file holds it."""
    return json.loads(file.to_file(set_up))


@pytest.fixture
def list_(page, url) -> Page:
    """The page of all set-ups, with the van kept and the truck."""
    keep(page, url, VAN, TRUCK)
    page.goto(f"{url}set-ups/")
    return page


def item(page: Page, name: str):
    """Return the entry of a set-up in the list."""
    return page.locator("#kept li", has=page.locator(f'h3:text-is("{name}")'))


def do(page: Page, name: str, what: str) -> None:
    """Press a set-up's button."""
    item(page, name).locator(f'[data-do="{what}"]').click()


# Kept


def test_it_is_there_after_a_reload(page, url):
    clear(page, url)
    edit(page, url)
    step(page, "name")
    page.fill("#set-up-name", "Van")
    page.reload()
    step(page, "name")
    assert entry(page, "name") == "Van"
    page.goto(f"{url}set-ups/")
    expect(item(page, "Van").locator(".chosen")).to_be_visible()


def test_it_is_there_with_no_network_and_no_server_and_goes_on_working(new_context, built):
    with Host(built) as host:
        context = new_context()
        page = visit(context.new_page(), host.url)
        keep(page, host.url, VAN)
        host.stop()
        context.set_offline(True)
        look_at(page, host.url)
        expect(page.locator("#opened-name")).to_have_text("Van")
        expect(page.locator("#drawing svg")).to_be_visible()
        edit(page, host.url, "0")
        step(page, "load")
        page.fill('[name="load.0.current"]', "5 A")
        page.reload()
        edit(page, host.url, "0")
        step(page, "load")
        assert entry(page, "load.0.current") == "5 A"
        page.goto(f"{host.url}checks/cable-drop/")
        expect(page.locator("#heading-answer")).to_be_visible()
        expect(page.locator("#length-start")).to_have_text("From Van: 6.2\u00a0m")
        page.goto(f"{host.url}set-ups/#demo=island_van")
        expect(page.locator("#opened-name")).to_have_text(DEMOS["island_van"].name)


def test_it_outlives_an_update_of_the_book(new_context, host, newer):
    page = visit(new_context().new_page(), host.url)
    keep(page, host.url, VAN)
    page.goto(f"{host.url}set-ups/")
    host.folder = newer
    assert page.evaluate(LOOK) == "waiting"
    page.click("#update-now")
    page.wait_for_selector(f'html[data-edition="{edition(newer)}"]')
    assert kept(page) == {"0": as_data(VAN)}
    assert on_show(page) == edition(newer)
    expect(item(page, "Van").locator(".chosen")).to_be_visible()


def test_copied_named_and_edited_apart(list_):
    do(list_, "Van", "copy")
    expect(item(list_, "Van (copy)")).to_be_visible()
    assert sorted(one["name"] for one in kept(list_).values()) == [TRUCK.name, "Van", "Van (copy)"]
    do(list_, "Van (copy)", "edit")
    wait_for(list_, engine="ready")
    list_.click('label.pill:has-text("Gel")')
    named = {one["name"]: one for one in kept(list_).values()}
    assert named["Van"] == as_data(VAN)
    assert named["Van (copy)"]["second"][0]["chemistry"] == "gel"


def test_a_copy_of_the_longest_name_can_be_opened(page, url):
    keep(page, url, SetUp("W" * LONGEST_NAME, VAN.entries))
    page.goto(f"{url}set-ups/")
    page.click('[data-do="copy"]')
    expect(page.locator("#kept li")).to_have_count(2)
    names = [one["name"] for one in kept(page).values()]
    assert all(len(name) <= LONGEST_NAME for name in names)
    assert sum(name.endswith("(copy)") for name in names) == 1
    for number in range(2):
        page.click(f'#kept li:nth-child({number + 1}) [data-do="open"]')
        expect(page.locator("#opened-name")).to_have_text(sorted(names)[number])


def test_deleted_and_brought_back(list_):
    before = kept(list_)
    do(list_, "Van", "delete")
    expect(item(list_, "Van")).to_have_count(0)
    assert list(kept(list_)) == ["1"]
    assert chosen(list_) is None
    list_.click("#undo button")
    expect(item(list_, "Van").locator(".chosen")).to_be_visible()
    assert (kept(list_), chosen(list_)) == (before, "0")
    expect(list_.locator("#undo")).to_be_hidden()


def test_what_is_open_and_deleted_can_be_kept_again(list_):
    do(list_, "Van", "open")
    expect(list_.locator("#opened-name")).to_have_text("Van")
    expect(list_.locator("#keep")).to_be_hidden()
    do(list_, "Van", "delete")
    list_.click("#keep")
    expect(item(list_, "Van")).to_be_visible()


def test_another_is_chosen(list_):
    do(list_, TRUCK.name, "choose")
    expect(item(list_, TRUCK.name).locator(".chosen")).to_be_visible()
    expect(item(list_, "Van").locator(".chosen")).to_be_hidden()
    assert chosen(list_) == "1"


def test_compared_where_they_differ(list_):
    rows = list_.locator("#comparison tbody tr")
    expect(rows.first).to_be_visible()
    assert {list_.inner_text(f"#{side} option:checked") for side in ("one", "other")} == {"Van", TRUCK.name}
    heads = list_.locator("#comparison thead th").all_inner_texts()
    assert heads == ["Place", TRUCK.name, "Van"]
    said = {cells[0]: cells[1:] for cells in (row.split("\t") for row in rows.all_inner_texts())}
    assert said["Link, kind"] == ["A voltage-sensitive relay", "A DC-DC charger"]
    assert said["Second battery, capacity"] == ["120\u00a0Ah", "95\u00a0Ah"]
    assert said["Link, connects at"] == ["13.3\u00a0V", "none"]
    assert "Vehicle, the way back to the starter battery" not in said  # both by cable
    list_.select_option("#one", "0")
    list_.select_option("#other", "0")
    expect(list_.locator("#comparison td")).to_have_count(1)
    expect(list_.locator("#comparison td")).to_have_text("They say the same.")


# The look


@pytest.mark.parametrize("one", [VAN, *DEMOS.values()], ids=lambda s: s.name)
def test_the_look_says_all_that_is_known_and_what_is_not(page, url, one):
    keep(page, url, one)
    look_at(page, url)
    open_all(page)
    summary = page.inner_text("#summary")
    for known in (one.known(*place) for place in one.places()):
        assert known.entry.text in summary
    assert page.locator("#summary dd.assumed").count() == len(one.missing())
    assert page.locator("#missing li").count() == len(one.missing())
    assert page.locator("#notes li").count() == len(consistency.notes(one))


@pytest.mark.parametrize("which", ["the list", "a look", "a look with notes"])
def test_list_and_look_can_be_read_and_tapped(page, url, which):
    if which == "a look with notes":
        keep(page, url, fullest("abc"))
    else:
        keep(page, url, TRUCK, VAN)
    page.goto(f"{url}set-ups/" + ("" if which == "the list" else "#id=0"))
    if which == "the list":
        do(page, "Van", "delete")  # shows the way back
        expect(page.locator("#undo")).to_be_visible()
    else:
        expect(page.locator("#opened")).to_be_visible()
        page.click("#copy")
        page.click("#show-code")
        expect(page.locator("#code svg, #problem:not([hidden])").first).to_be_visible()
    wait_for(page, engine="ready")
    open_all(page)
    assert look(page) == {}


# Files


def test_exported_and_opened_elsewhere_it_is_the_same(new_context, host, page, url, tmp_path):
    keep(page, url, TRUCK)
    look_at(page, url)
    with page.expect_download() as download:
        page.click("#save-file")
    assert download.value.suggested_filename == "Desert-truck-invented-.json"
    path = tmp_path / "truck.json"
    download.value.save_as(path)
    assert file.from_file(path.read_text("utf-8")) == TRUCK
    other = new_context(service_workers="block").new_page()
    other.goto(f"{host.url}set-ups/")
    other.set_input_files("#import", path)
    expect(other.locator("#opened-name")).to_have_text(TRUCK.name)
    assert kept(other) == {}
    other.click("#keep")
    expect(other.locator("#is-kept")).to_be_visible()
    assert list(kept(other).values()) == [as_data(TRUCK)]
    assert list(kept(other)) == [chosen(other)]


def changed(**changes) -> bytes:
    """Return the van's file with changes."""
    return json.dumps(as_data(VAN) | changes).encode()


REFUSED = {
    "cut off": (changed()[:-40], "damaged"),
    "no text": (bytes(range(256)) * 20, "damaged"),
    "empty": (b"", "damaged"),
    "another format": (changed(format="a-recipe"), "not a set-up"),
    "newer": (changed(version=2), "newer edition"),
    "no version": (changed(version=None), "version"),
    "a part that is not known": (changed(rocket=[{}]), "rocket"),
    "a field that is not known": (changed(starter={"constructor": "x"}), "constructor"),
    "a list for a group": (changed(starter=[{}]), "starter"),
    "numbers for texts": (changed(starter={"capacity": 70}), "plain text"),
    "a name of markup, too long": (changed(name="<img src=x onerror=alert(1)>" * 9), "name"),
    "thirteen loads": (changed(load=[{"name": "x"}] * 13), "at most 12"),
    "deep": (b"[" * 50_000, "damaged"),
    "large": (b" " * 5_000_000, "far too large"),
    "a key twice": (changed()[:-1] + b', "name": "other"}', "damaged"),
}


@pytest.fixture(scope="module")
def opener(saved):
    """The page of all set-ups, with its engine running and the van kept: shared by files that are refused."""
    page = saved[0].new_page()
    keep(page, saved[1].url, VAN)
    page.goto(f"{saved[1].url}set-ups/")
    wait_for(page, engine="ready")
    yield page
    page.close()


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_is_no_set_up_is_refused_with_a_sentence(opener, name):
    content, words = REFUSED[name]
    before = written(opener)
    opener.evaluate("document.getElementById('problem').hidden = true")
    opener.set_input_files("#import", {"name": "set-up.json", "mimeType": "application/json", "buffer": content})
    expect(opener.locator("#problem")).to_be_in_viewport()
    sentence = opener.inner_text("#problem")
    assert words in sentence
    assert 20 < len(sentence) < 300 and "Traceback" not in sentence
    expect(opener.locator("#opened")).to_be_hidden()
    assert opener.get_attribute("html", "data-engine") == "ready"
    assert written(opener) == before


def test_markup_in_a_file_stays_text(opener):
    ran = []
    opener.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    evil = "<img src=x onerror=alert(1)>"
    content = changed(name=evil, load=[{"name": evil, "current": evil}], second=[{"chemistry": evil}])
    opener.set_input_files("#import", {"name": "set-up.json", "mimeType": "application/json", "buffer": content})
    expect(opener.locator("#opened-name")).to_have_text(evil)
    open_all(opener)
    assert opener.locator("main img").count() == 0
    assert ran == []
    opener.click("#close")


# Links


def test_a_link_shows_it_first_and_keeps_nothing_until_asked(new_context, host, page, url):
    keep(page, url, TRUCK)
    look_at(page, url)
    address = link_on_show(page).replace(url, host.url)
    other = new_context(service_workers="block").new_page()
    mine = SetUp(TRUCK.name, VAN.entries)  # of the same name, and not the same
    keep(other, host.url, mine)
    other.goto(address)
    expect(other.locator("#opened-name")).to_have_text(TRUCK.name)
    expect(other.locator("#drawing")).to_contain_text("Voltage-sensitive relay")
    assert kept(other) == {"0": as_data(mine)}
    for copies in (1, 2):
        other.goto("about:blank")
        other.goto(address)
        other.click("#keep")
        expect(other.locator("#is-kept")).to_be_visible()
        assert kept(other)["0"] == as_data(mine)
        assert [one for id, one in kept(other).items() if id != "0"] == [as_data(TRUCK)] * copies
    assert chosen(other) == "0"
    assert "#set-up" not in other.url


def broken_links() -> dict[str, tuple[str, str]]:
    good = link.to_link(VAN)
    middle = len(good) // 2
    hostile = json.dumps({"name": "x", "rocket": {}}).encode()
    packer = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_DEFAULT_STRATEGY, link.dictionary())
    packed = packer.compress(hostile) + packer.flush()
    sealed = base64.urlsafe_b64encode(zlib.crc32(packed).to_bytes(4, "big") + packed).decode().rstrip("=")
    return {
        "cut off": (good[:-5], "damaged"),
        "a letter changed": (good[:middle] + ("A" if good[middle] != "A" else "B") + good[middle + 1 :], "damaged"),
        "nothing": ("", "damaged"),
        "not base64": ("1" + "é%00<script>", "damaged"),
        "newer": ("2" + good[1:], "newer edition"),
        "a part that is not known": ("1" + sealed, "rocket"),
        "endless": ("1" + "A" * 200_000, "damaged"),
    }


@pytest.mark.parametrize("name", broken_links())
def test_a_broken_link_gets_its_sentence(opener, url, name):
    content, words = broken_links()[name]
    before = kept(opener)
    opener.evaluate("document.getElementById('problem').hidden = true")
    opener.evaluate("(text) => { location.hash = 'again'; location.hash = `set-up=${text}`; }", content)
    expect(opener.locator("#problem")).to_be_visible()
    assert words in opener.inner_text("#problem")
    expect(opener.locator("#opened")).to_be_hidden()
    assert kept(opener) == before


@pytest.mark.parametrize("one", [VAN, *DEMOS.values()], ids=lambda s: s.name)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_square_code_is_the_link(page, url, one, scheme):
    """Read from a picture of the screen, by a reader of other people's making."""
    page.emulate_media(color_scheme=scheme)
    keep(page, url, one)
    look_at(page, url)
    page.click("#show-code")
    picture = page.locator("#code svg").screenshot()
    read = zxingcpp.read_barcode(Image.open(io.BytesIO(picture))).text
    assert read == link_on_show(page)
    assert link.from_link(read.partition("#set-up=")[2]) == one


def test_a_set_up_that_is_too_much_for_a_code_says_so(page, url):
    """Random letters cannot be packed; link and file still work."""
    letters = np.random.default_rng(1)
    words = ["".join(chr(97 + n) for n in letters.integers(0, 26, 60)) for _ in range(72)]
    load = [
        dict(zip(("name", "current", "use", "hours", "duty", "battery"), words[n::12], strict=True)) for n in range(12)
    ]
    much = take_in({"name": "Much", "load": load})
    keep(page, url, much)
    look_at(page, url)
    page.click("#show-code")
    expect(page.locator("#problem")).to_be_in_viewport()
    assert "link or the file" in page.inner_text("#problem")
    expect(page.locator("#code")).to_be_hidden()
    assert page.get_attribute("html", "data-engine") == "ready"
    assert link.from_link(link_on_show(page).partition("#set-up=")[2]) == much


def test_the_link_is_copied_where_there_is_a_clipboard(page, url):
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    keep(page, url, VAN)
    look_at(page, url)
    address = link_on_show(page)
    expect(page.locator("#copied")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == address == f"{url}set-ups/#set-up={link.to_link(VAN)}"
    page.click('[data-do="open"]')
    expect(page.locator("#copied")).to_be_hidden()


def test_without_a_clipboard_the_link_is_there_to_copy_by_hand(page, url):
    page.add_init_script("delete Navigator.prototype.clipboard")
    keep(page, url, VAN)
    look_at(page, url)
    assert link_on_show(page).endswith(link.to_link(VAN))
    expect(page.locator("#copied")).to_be_hidden()
    assert page.evaluate("getSelection().toString() || document.activeElement.value").endswith(link.to_link(VAN))


@pytest.mark.parametrize("there", [True, False])
def test_the_link_is_sent_where_the_phone_can_send(page, url, there):
    page.add_init_script(
        "navigator.share = async (sent) => { window.sent = sent; }"
        if there
        else "delete Navigator.prototype.share; delete navigator.share"
    )
    keep(page, url, VAN)
    look_at(page, url)
    expect(page.locator("#share")).to_be_visible(visible=there)
    if there:
        page.click("#share")
        assert page.evaluate("window.sent") == {"title": "Van", "url": f"{url}set-ups/#set-up={link.to_link(VAN)}"}


@pytest.mark.parametrize("name", DEMOS)
def test_the_invented_ones_open_from_the_home_page(page, url, name):
    clear(page, url)
    page.goto(url)
    page.click(f"text={DEMOS[name].name}")
    expect(page.locator("#opened-name")).to_have_text(DEMOS[name].name)
    assert kept(page) == {}
    page.click("#keep")
    expect(page.locator("#is-kept")).to_be_visible()
    assert list(kept(page).values()) == [as_data(DEMOS[name])]


# Two tabs


def test_the_same_set_up_in_two_tabs_loses_nothing(page, url):
    keep(page, url, VAN)
    edit(page, url, "0")
    other = page.context.new_page()
    edit(other, url, "0")
    step(page, "run")
    step(other, "run")
    open_all(page)
    open_all(other)
    page.fill('[name="run.0.length"]', "7 m")
    other.fill('[name="run.0.length"]', "8 m")
    other.fill('[name="run.0.fuse"]', "50 A")
    page.fill('[name="run.0.fuse"]', "60 A")
    expect(other.locator("#other-tab")).to_be_visible()
    expect(page.locator("#other-tab")).to_be_hidden()
    found = {one["name"]: one["run"][0] for one in kept(page).values()}
    assert {name: (run["length"], run["fuse"]) for name, run in found.items()} == {
        "Van": ("7 m", "60 A"),
        "Van (copy)": ("8 m", "50 A"),
    }
    other.click("#done")
    expect(other.locator("#opened-name")).to_have_text("Van (copy)")
    expect(item(other, "Van")).to_be_visible()
    other.close()


def test_what_is_deleted_in_one_tab_and_typed_in_another_is_not_lost(page, url):
    keep(page, url, VAN)
    edit(page, url, "0")
    other = page.context.new_page()
    other.goto(f"{url}set-ups/")
    do(other, "Van", "delete")
    page.click('label.pill:has-text("Gel")')
    [one] = kept(page).values()
    assert one["second"][0] == {"chemistry": "gel", "capacity": "95 Ah", "place": "cabin"}
    expect(other.locator("#kept li")).to_have_count(1)  # and the list follows by itself
    other.close()


def test_the_list_follows_another_tab(list_, url):
    other = list_.context.new_page()
    other.goto(f"{url}set-ups/")
    do(other, "Van", "copy")
    expect(item(list_, "Van (copy)")).to_be_visible()
    do(other, TRUCK.name, "choose")
    expect(item(list_, TRUCK.name).locator(".chosen")).to_be_visible()
    other.close()


# Where nothing is kept

REFUSALS = {
    "no storage": "Object.defineProperty(window, 'localStorage',"
    " { get() { throw new DOMException('', 'SecurityError'); } })",
    "no room": "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); }",
    "full by now": "const set = Storage.prototype.setItem; Storage.prototype.setItem = function (key, text) {"
    " if (text.length > 1) throw new DOMException('', 'QuotaExceededError'); set.call(this, key, text); }",
}


@pytest.mark.parametrize("name", REFUSALS)
def test_where_storage_is_refused_all_else_works_and_the_page_says_so(page, url, name, tmp_path):
    clear(page, url)
    page.add_init_script(REFUSALS[name])
    edit(page, url)
    page.click('label.pill:has-text("Gel")')
    expect(page.locator("#store-refused")).to_be_visible()
    step(page, "run")
    page.fill('[name="run.0.length"]', "7 m")
    expect(page.locator("#drawing")).to_contain_text("7 m")
    page.wait_for_url("**/edit/#set-up=*")
    expected = take_in({"second": [{"chemistry": "gel"}], "run": [{"length": "7 m"}]})
    expect(page.locator("#done")).to_have_attribute("href", f"{url}set-ups/#set-up={link.to_link(expected)}")
    page.reload()  # the address holds it
    expect(page.locator("#drawing")).to_contain_text("7 m")
    step(page, "run")
    assert entry(page, "run.0.length") == "7 m"
    page.click("#done")
    expect(page.locator("#opened-name")).to_have_text("A vehicle with no name")
    page.click("#keep")
    expect(page.locator("#store-refused")).to_be_visible()
    expect(page.locator("#is-kept")).to_be_hidden()
    assert link.from_link(link_on_show(page).partition("#set-up=")[2]) == expected
    with page.expect_download() as download:
        page.click("#save-file")
    download.value.save_as(tmp_path / "one.json")
    assert file.from_file((tmp_path / "one.json").read_text("utf-8")) == expected
    page.go_back()
    step(page, "run")
    expect(page.locator('[name="run.0.length"]')).to_have_value("7 m")


def test_a_full_store_refuses_a_copy_aloud(list_):
    list_.evaluate("void (Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); })")
    do(list_, "Van", "copy")
    expect(list_.locator("#store-refused")).to_be_in_viewport()
    assert len(kept(list_)) == 2


def test_where_storage_is_refused_a_check_still_answers(page, url):
    page.add_init_script(REFUSALS["no storage"])
    page.goto(f"{url}checks/cable-drop/")
    expect(page.locator("#from")).to_be_hidden()
    page.fill("#current", "25 A")
    page.fill("#length", "6 m")
    expect(page.locator("#heading-answer")).to_be_visible()


def test_without_javascript_the_pages_say_so(new_context, host):
    page = new_context(java_script_enabled=False).new_page()
    for path in ("set-ups/", "set-ups/edit/"):
        page.goto(host.url + path)
        expect(page.locator("noscript p")).to_be_visible()
