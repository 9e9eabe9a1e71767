"""A check that starts from a set-up says so beside each field, gives way to the reader, and answers as elsewhere."""

from __future__ import annotations

import json
from itertools import cycle

import pytest
from playwright.sync_api import Page, expect

import calc
from calc.check import answer
from calc.fields import Choice
from calc.setup import file
from calc.setup.model import SetUp, take_in
from calc.setup.telling import telling
from tests.browser.conftest import fill, wait_for
from tests.browser.set_ups import DEMOS, VAN, clear, expect_told, keep, kept, look_at, told
from tests.browser.test_look import look, open_all
from tests.browser.test_steady import MOST_SHIFT, WATCH, shift

CHECK = "cable-drop"
STARTED = tuple(check.id for check in calc.checks().values() if check.starts)
SET_UPS = {"van": VAN, **DEMOS}


def own(check: str, set_up: SetUp) -> dict[str, str]:
    """Return what a reader has to type of a check's example, because no set-up says it."""
    declared = calc.checks()[check]
    there = {name for name in declared.starts if declared.start(name, set_up)}
    required = {f.name for f in declared.fields if f.required}
    return {name: text for name, text in declared.example.items() if name in required - there}


@pytest.fixture(scope="module")
def exported(saved, tmp_path_factory):
    """The file of each set-up, as the page saves it."""
    context, host = saved
    folder, page = tmp_path_factory.mktemp("exported"), context.new_page()
    keep(page, host.url, *SET_UPS.values())
    for id, name in enumerate(SET_UPS):
        page.goto("about:blank")
        look_at(page, host.url, str(id))
        with page.expect_download() as download:
            page.click("#save-file")
        download.value.save_as(folder / f"{name}.json")
    page.close()
    return {name: folder / f"{name}.json" for name in SET_UPS}


def open_check(page: Page, url: str, check: str = CHECK) -> None:
    """Open a check, and wait for what it takes from the set-up."""
    page.goto(f"{url}checks/{check}/")
    unfold(page)
    expect(page.locator(".start:visible").first).to_be_visible()


def unfold(page: Page) -> None:
    """Open what of the form is folded away."""
    page.eval_on_selector_all("#check details", "all => all.forEach((one) => { one.open = true; })")


def note(page: Page, field: str) -> str:
    """Return the note beside a field on where its value comes from."""
    here = page.locator(f"#{field}-start")
    return here.inner_text().replace("\u00a0", " ") if here.is_visible() else ""


@pytest.mark.parametrize(("check", "name"), list(zip(STARTED, cycle(SET_UPS), strict=False)))
def test_a_check_answers_from_the_set_up_as_the_command_line_does_and_can_be_read(page, url, exported, check, name):
    set_up = SET_UPS[name]
    keep(page, url, set_up)
    open_check(page, url, check)
    inputs = own(check, set_up)
    fill(page, check, inputs)
    answered = told(check, inputs, exported[name])
    expect_told(page, answered)

    declared, found = calc.checks()[check], answer(calc.checks()[check], inputs, set_up)
    for field in declared.fields:
        entry = found.inputs[field.name]
        if not entry.start:
            assert note(page, field.name) == ""
            continue
        origin = "Assumed, not in the set-up: " if entry.start.assumed else f"From {set_up.name}: "
        assert note(page, field.name) == origin + entry.text.replace("\u00a0", " ")
        assert f"{field.name}-start" in page.get_attribute(f"#{field.name}", "aria-describedby").split()
        if isinstance(field, Choice):
            assert page.input_value(f"#{field.name}") == answered["inputs"][field.name]["value"]
        else:
            assert page.input_value(f"#{field.name}") == ""
    unknown = [one.known.label for one in telling(declared, inputs, set_up, found)]
    assert page.locator("#unknown li strong").all_inner_texts() == unknown
    assert page.locator("#unknown h3").count() == bool(unknown)
    open_all(page)
    assert look(page) == {}


@pytest.mark.parametrize("check", STARTED)
def test_the_address_reproduces_it_where_the_set_up_is_not(new_context, host, page, url, exported, check):
    keep(page, url, VAN)
    open_check(page, url, check)
    inputs = own(check, VAN)
    fill(page, check, inputs)
    answered = told(check, inputs, exported["van"])
    expect_told(page, answered)
    shown, address = page.inner_text("#answer"), page.url.replace(url, host.url)
    other = new_context(service_workers="block").new_page()
    other.goto(address)
    unfold(other)
    expect_told(other, answered)
    assert other.inner_text("#answer") == shown
    assert bool(other.locator(".start:visible").count()) == calc.checks()[check].whole
    assert "from=" not in other.url
    page.reload()  # and on the phone that has it, it is still from the set-up
    unfold(page)
    expect_told(page, answered)
    assert page.locator(".start:visible").count() > 0


def test_what_the_set_up_says_is_shown_before_all_is_filled_in(page, url):
    keep(page, url, VAN)
    page.goto(f"{url}checks/resting-voltage/")
    expect(page.locator("#waiting")).to_be_visible()
    expect(page.locator("#chemistry-start")).to_have_text("From Van: AGM, sealed lead-acid")
    assert page.input_value("#chemistry") == "agm"
    expect(page.locator("#missing a")).to_have_text(["Voltage at rest"])
    assert page.locator(".error:visible").count() == 0


def test_any_value_can_be_another_for_this_once(page, url, exported):
    keep(page, url, VAN)
    open_check(page, url)
    changes = {"current": "10 A", "return_path": "body", "ambient": "104 degF", "size": "6 AWG"}
    fill(page, CHECK, changes)
    expect_told(page, told(CHECK, changes, exported["van"]))
    assert (note(page, "current"), note(page, "return_path")) == ("", "")
    assert note(page, "length") == "From Van: 6.2 m"
    assert kept(page) == {"0": json.loads(file.to_file(VAN))}
    page.reload()
    expect_told(page, told(CHECK, changes, exported["van"]))
    page.click("button[type=reset]")
    expect_told(page, told(CHECK, {}, exported["van"]))
    assert page.input_value("#return_path") == "cable"
    assert note(page, "current").startswith("Assumed") or note(page, "current").startswith("From Van")


def test_clear_goes_back_to_what_the_set_up_says(page, url, exported):
    """Also where a list of the form stands on something else before anything is chosen."""
    keep(page, url, DEMOS["island_van"])
    open_check(page, url)
    expect_told(page, told(CHECK, {}, exported["island_van"]))
    assert page.input_value("#return_path") == "body"
    page.fill("#current", "3 A")
    expect_told(page, told(CHECK, {"current": "3 A"}, exported["island_van"]))
    page.click("button[type=reset]")
    expect_told(page, told(CHECK, {}, exported["island_van"]))
    assert page.input_value("#return_path") == "body"
    assert "own=&" in page.url + "&"


def test_an_answer_is_written_back_and_the_next_one_uses_it(page, url, tmp_path):
    keep(page, url, VAN)
    open_check(page, url)
    button = page.locator("#gives button")
    expect(button).to_be_visible()
    size = button.inner_text().replace("\u00a0", " ").removeprefix("Put ").partition(" into Van")[0]
    assert size != "16 mm²"
    button.click()
    expect(page.locator("#written")).to_be_visible()
    expect(page.locator("#not-written")).to_be_hidden()
    assert kept(page)["0"]["run"] == [{**json.loads(file.to_file(VAN))["run"][0], "size": size}]
    page.goto(f"{url}checks/fuse-choice/")
    expect(page.locator("#size-start")).to_have_text(f"From Van: {size}")
    open_check(page, url)
    (tmp_path / "van.json").write_text(json.dumps(kept(page)["0"]), "utf-8")
    expect_told(page, told(CHECK, {}, tmp_path / "van.json"))


def test_a_whole_run_is_written_back(page, url):
    keep(page, url, VAN)
    open_check(page, url, "wiring-run")
    button = page.locator("#gives button")
    expect(button).to_have_text("Put this run into Van")
    button.click()
    expect(page.locator("#written")).to_be_visible()
    run = kept(page)["0"]["run"]
    assert len(run) == 2 and run[0]["length"] == "6.2 m" and run[1]["end_fuse"]
    expect(page.locator("#pictures svg")).to_have_count(3)


def test_writing_back_keeps_what_another_tab_wrote(page, url):
    keep(page, url, VAN)
    open_check(page, url)
    expect(page.locator("#gives button")).to_be_visible()
    other = page.context.new_page()
    keep_name = json.dumps(json.loads(file.to_file(VAN)) | {"name": "Van of two tabs"})
    other.goto(f"{url}missing/")
    other.evaluate("([key, text]) => localStorage.setItem(key, text)", [next(iter(keys(other))), keep_name])
    other.close()
    expect(page.locator("#length-start")).to_have_text("From Van of two tabs: 6.2\u00a0m")
    page.click("#gives button")
    expect(page.locator("#written")).to_be_visible()
    assert kept(page)["0"]["name"] == "Van of two tabs"


def keys(page: Page) -> list[str]:
    """Return the keys of the browser's store under which a set-up stands."""
    return page.evaluate("Object.keys(localStorage).filter((key) => key.includes(' set-up '))")


def test_a_full_store_refuses_what_is_written_back_aloud(page, url):
    keep(page, url, VAN)
    open_check(page, url)
    page.evaluate("void (Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); })")
    page.click("#gives button")
    expect(page.locator("#not-written")).to_be_visible()
    expect(page.locator("#written")).to_be_hidden()
    assert kept(page) == {"0": json.loads(file.to_file(VAN))}


def test_no_set_up_goes_back_to_plain_and_stays_so(page, url):
    keep(page, url, VAN)
    open_check(page, url)
    expect(page.locator("#heading-answer")).to_be_visible()
    page.select_option("#from-set-up", "")
    expect(page.locator("#heading-example")).to_be_visible()
    expect(page).to_have_url(f"{url}checks/{CHECK}/")
    expect(page.locator(".start:visible, #unknown li, #gives button")).to_have_count(0)
    inputs = {"current": "25 A", "length": "6 m"}
    fill(page, CHECK, inputs)
    expect_told(page, told(CHECK, inputs))
    page.goto(f"{url}checks/fuse-choice/")
    expect(page.locator("#from")).to_be_visible()
    expect(page.locator("#heading-example")).to_be_visible()
    page.select_option("#from-set-up", "0")
    expect(page.locator("#length-start")).to_be_visible()


def test_another_set_up_is_chosen_on_the_check_itself(page, url, exported):
    keep(page, url, VAN, DEMOS["desert_truck"])
    open_check(page, url)
    page.select_option("#from-set-up", "1")
    expect_told(page, told(CHECK, {}, exported["desert_truck"]))
    page.goto(f"{url}checks/fuse-choice/")
    expect(page.locator("#from-set-up")).to_have_value("1")


def test_without_a_set_up_a_check_leads_to_describing_one(page, url):
    clear(page, url)
    page.goto(f"{url}checks/{CHECK}/")
    expect(page.locator("#from")).to_be_hidden()
    page.click("#describe a")
    assert page.url == f"{url}set-ups/edit/"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "damaged"),
        (file.to_file(VAN).replace('"version": 1', '"version": 9'), "newer edition"),
        (file.to_file(VAN).replace("6.2 m", "6.2 \u202e"), "plain text"),
    ],
    ids=["damaged", "newer", "not plain"],
)
def test_a_kept_set_up_that_cannot_be_used_is_said_and_the_check_answers_without_it(page, url, text, words):
    keep(page, url, text)
    page.goto(f"{url}checks/{CHECK}/")
    expect(page.locator("#from-error")).to_contain_text(words)
    inputs = {"current": "25 A", "length": "6 m"}
    fill(page, CHECK, inputs)
    expect_told(page, told(CHECK, inputs))


def test_a_set_up_with_hostile_entries_starts_a_check_with_usual_values(page, url):
    evil = "<img src=x onerror=alert(1)>"
    ran = []
    page.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    bad = take_in({"name": evil, "run": [{"length": evil, "size": "1e999", "joints": "NaN"}]})
    keep(page, url, bad)
    open_check(page, url)
    expect(page.locator("#heading-answer")).to_be_visible()
    assert note(page, "length").startswith("Assumed")
    assert page.locator("main img").count() == 0
    expect(page.locator("#gives")).to_contain_text("<img")
    assert ran == []


@pytest.mark.parametrize("path", [f"checks/{CHECK}/", "set-ups/edit/#id=0", "set-ups/edit/", "set-ups/"])
def test_nothing_jumps_when_the_set_up_arrives(page, url, path):
    keep(page, url, VAN)
    page.add_init_script(WATCH)
    page.goto(url + path)
    wait_for(page, engine="ready")
    if path != "set-ups/":
        expect(page.locator("#heading-answer, #drawing svg").first).to_be_visible()
    assert shift(page) <= MOST_SHIFT
