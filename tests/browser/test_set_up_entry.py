"""Describing a vehicle on a phone: few taps, nothing lost, everything can be changed later, and read and tapped."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from calc.setup import file
from calc.setup.model import LONGEST_TEXT, SetUp, take_in
from calc.setup.parts import ASKED, PARTS
from tests.browser.conftest import PHONE
from tests.browser.set_ups import DEMOS, VAN, chosen, clear, edit, entry, keep, kept, step
from tests.browser.test_look import look, open_all
from tests.browser.test_markup import AS_A_BROWSER_WRITES, complaints

MOST_TAPS = 12
STEPS = (*ASKED, "name")

BROKEN = take_in(
    {
        "name": "All there is",
        "vehicle": {"earth_path": "by magic", "ambient": "900 degC"},
        "alternator": {"kind": "unheard of", "set_point": "12 bananas"},
        "second": [{"capacity": "5 kg", "heat": "very hot"}, {"chemistry": "AGM, sealed lead-acid"}],
        "link": [{"kind": "charger", "rating": "-3 A"}, {"kind": "relay", "connects_at": "99 V"}],
        "run": [{"length": "six", "size": "17 mm2", "joints": "1.5 kg"}, {"length": "2 m"}],
        "load": [{"current": "much", "use": "duty", "duty": "700 %"}, {"use": "timed", "hours": "25 h"}],
        "sun": [{"power": "none", "tilt": "120 deg"}],
        "mains": {"fitted": "yes", "rating": "x"},
    }
)
"""Several of what there can be several of, with an entry on each step that cannot be read."""


@pytest.fixture
def blank(page, url) -> Page:
    """The page on which a vehicle is described, with nothing kept."""
    clear(page, url)
    edit(page, url)
    return page


def only(page: Page) -> dict:
    """Return the one set-up that is kept."""
    [one] = kept(page).values()
    return one


# The first time


def test_from_the_home_page_to_a_usable_set_up_in_twelve_taps(page, url):
    clear(page, url)
    page.goto(url)
    taps = 0

    def tap(what: str) -> None:
        nonlocal taps
        taps += 1
        page.locator(f"{what} >> visible=true").first.click()

    tap("main >> text=Your set-ups")
    tap("text=Describe a vehicle")
    tap("text=AGM, sealed")
    drawing = page.locator("#drawing")
    expect(drawing).to_contain_text("AGM")
    tap("text=Next")
    tap("text=A DC-DC charger")
    expect(drawing).to_contain_text("DC-DC charger")
    tap("text=Next")
    tap("text=Smart, run by")
    expect(drawing).to_contain_text("smart")
    tap("text=Next")
    tap('[name="run.0.length"]')
    page.keyboard.type("6.2 m")
    expect(drawing).to_contain_text("6.2 m")
    taps += 2  # the list, and the size in it
    page.select_option('[data-picks="run.0.size"]', "16 mm2")
    expect(drawing).to_contain_text("16 mm²")
    tap("text=Done")
    expect(page.locator("#opened")).to_be_visible()
    assert taps <= MOST_TAPS
    assert only(page) == {
        "format": file.FORMAT,
        "version": file.VERSION,
        "name": "",
        "second": [{"chemistry": "agm"}],
        "link": [{"kind": "charger"}],
        "alternator": {"kind": "smart"},
        "run": [{"length": "6.2 m", "size": "16 mm2"}],
    }
    assert [chosen(page)] == list(kept(page))
    page.goto(f"{url}checks/cable-drop/")
    expect(page.locator("#heading-answer")).to_be_visible()
    expect(page.locator("#length-start")).to_have_text("From A vehicle with no name: 6.2\u00a0m")


def test_nothing_is_kept_before_something_is_typed(blank):
    step(blank, "name")
    assert kept(blank) == {}
    assert chosen(blank) is None


def test_back_and_next_lead_through_every_step(blank):
    assert blank.locator("#back").is_hidden()
    for number, part in enumerate(STEPS, 1):
        assert blank.inner_text("#step-count") == f"Step {number} of {len(STEPS)}"
        assert blank.eval_on_selector_all(
            ".part", "all => all.filter((e) => e.checkVisibility()).map((e) => e.dataset.part)"
        ) == [part]
        if number < len(STEPS):
            blank.click("#next")
            assert blank.evaluate("document.activeElement.id") == "step-count"
    assert blank.locator("#next").is_hidden()
    for _ in STEPS[1:]:
        blank.click("#back")
    assert blank.inner_text("#step") == "1"


def test_the_form_asks_for_every_field(blank):
    step(blank, "name")
    names = set(blank.eval_on_selector_all("#set-up [name]", "all => all.map((e) => e.name)"))
    assert names == {f"{part.key}.0.{f.name}" for part in PARTS for f in part.fields} | {"name"}


# What nobody knows


def test_not_known_is_an_answer_and_can_be_changed(blank):
    blank.click('.part:visible label.pill:has-text("I do not know") >> nth=0')
    step(blank, "run")
    blank.click('[data-unknown="run.0.length"]')
    assert entry(blank, "run.0.length") == "?"
    expect(blank.locator('[id="run.0.length-error"]')).to_be_hidden()
    assert only(blank)["second"] == [{"chemistry": "?"}]
    assert only(blank)["run"] == [{"length": "?"}]
    assert "Not known: counts as" in blank.inner_text('[id="run.0.length-help"]')
    blank.fill('[name="run.0.length"]', "4 m")
    step(blank, "second")
    blank.click('label.pill:has-text("Gel")')
    assert (only(blank)["second"], only(blank)["run"]) == ([{"chemistry": "gel"}], [{"length": "4 m"}])
    expect(blank.locator("#drawing")).to_contain_text("4 m")


def test_a_question_that_hangs_on_a_choice_waits_for_it(blank):
    step(blank, "link")
    points = blank.locator('[name="link.0.connects_at"]')
    profile = blank.locator('[name="link.0.profile"]').first
    for kind, relay, charger in (("relay", True, False), ("charger", False, True), ("switch", False, False)):
        blank.check(f'[name="link.0.kind"][value="{kind}"]')
        blank.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        expect(points).to_be_visible(visible=relay)
        expect(profile).to_be_visible(visible=charger)
    usual = blank.get_attribute('.field:has([name="link.0.connects_at"])', "data-when-usual")
    blank.check('[name="link.0.kind"][value="?"]')
    expect(points).to_be_visible(visible=usual == "relay")


def test_what_was_typed_is_kept_while_its_question_is_not_asked(blank):
    step(blank, "link")
    blank.check('[name="link.0.kind"][value="relay"]')
    blank.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    blank.fill('[name="link.0.connects_at"]', "13.4 V")
    blank.check('[name="link.0.kind"][value="charger"]')
    blank.check('[name="link.0.kind"][value="relay"]')
    expect(blank.locator('[name="link.0.connects_at"]')).to_have_value("13.4 V")


# Nothing typed is lost


@pytest.mark.parametrize("leave", ["reload", "close", "home"])
def test_leaving_at_any_time_keeps_what_was_typed(blank, url, leave):
    """In the middle of a word, on any step."""
    step(blank, "load")
    blank.fill('[name="load.0.name"]', "Fridg")
    if leave == "reload":
        blank.reload()
        here = blank
    elif leave == "home":
        blank.goto(url)
        here = blank
    else:
        here = blank.context.new_page()
        here.goto(f"{url}set-ups/")
        blank.close()
    assert only(here)["load"] == [{"name": "Fridg"}]
    here.goto(f"{url}set-ups/")
    here.click('[data-do="edit"]')
    step(here, "load")
    assert entry(here, "load.0.name") == "Fridg"
    here.close()


@pytest.mark.parametrize("one", [VAN, *DEMOS.values(), BROKEN], ids=lambda s: s.name)
def test_opening_and_changing_a_set_up_changes_nothing_else(page, url, one: SetUp):
    """Everything comes back from the form as it went in, what cannot be read too."""
    keep(page, url, one)
    edit(page, url, "0")
    step(page, "name")
    page.fill("#set-up-name", "Another")
    before = json.loads(file.to_file(one))
    # a choice in other words is kept by its key, which means the same
    for several in ("second", "link"):
        for entries in before.get(several, []):
            entries |= {"chemistry": "agm"} if entries.get("chemistry") == "AGM, sealed lead-acid" else {}
    assert only(page) == before | {"name": "Another"}


def test_several_pieces_and_loads_are_added_and_removed(blank):
    step(blank, "load")
    for number, name in enumerate(("Fridge", "Lights", "Pump")):
        if number:
            blank.click(".part:visible [data-add]")
        blank.fill(f'[name="load.{number}.name"]', name)
        blank.fill(f'[name="load.{number}.current"]', f"{number + 1} A")
    assert blank.locator(".part:visible .which").all_inner_texts() == ["1", "2", "3"]
    assert [one["name"] for one in only(blank)["load"]] == ["Fridge", "Lights", "Pump"]
    expect(blank.locator("#drawing")).to_contain_text("Pump")
    blank.click(".part:visible [data-remove] >> nth=1")
    assert [one["name"] for one in only(blank)["load"]] == ["Fridge", "Pump"]
    assert entry(blank, "load.1.current") == "3 A"
    expect(blank.locator("#drawing")).not_to_contain_text("Lights")
    assert blank.evaluate("document.activeElement.checkVisibility()")
    assert blank.evaluate("document.activeElement !== document.body")
    for _ in range(2):
        blank.click(".part:visible [data-remove] >> nth=0")
    assert "load" not in only(blank)
    expect(blank.locator(".part:visible .one")).to_have_count(1)


@pytest.mark.parametrize("part", [part for part in PARTS if part.many > 1], ids=lambda part: part.key)
def test_no_more_are_added_than_a_set_up_holds(blank, part):
    step(blank, part.key)
    for _ in range(part.many - 1):
        blank.click(".part:visible [data-add]")
    expect(blank.locator(".part:visible .one")).to_have_count(part.many)
    expect(blank.locator(f'.part[data-part="{part.key}"] [data-add]')).to_be_hidden()
    ids = blank.eval_on_selector_all("[id]", "all => all.map((e) => e.id)")
    assert len(ids) == len(set(ids))


# Entries that cannot be read


def test_an_entry_that_cannot_be_read_is_kept_and_gets_its_sentence(blank):
    step(blank, "run")
    note = blank.locator('[id="run.0.length-error"]')
    blank.focus('[name="run.0.length"]')
    blank.keyboard.type("six metres")
    expect(blank.locator("#drawing")).to_contain_text("not entered yet")
    expect(note).to_be_hidden()
    blank.focus('[name="run.0.size"]')
    expect(note).to_contain_text("six metres")  # it may say for a moment what it said of “six”
    expect(note).to_be_visible()
    assert blank.get_attribute('[name="run.0.length"]', "aria-invalid") == "true"
    assert only(blank)["run"] == [{"length": "six metres"}]
    blank.focus('[name="run.0.length"]')
    blank.keyboard.press("End")
    blank.keyboard.type(" long")
    expect(note).to_be_hidden()  # never while typing
    blank.fill('[name="run.0.length"]', "6 m")
    blank.focus('[name="run.0.size"]')
    expect(blank.locator("#drawing")).to_contain_text("6 m")
    expect(note).to_be_hidden()
    assert blank.get_attribute('[name="run.0.length"]', "aria-invalid") is None


def test_an_entry_that_came_unreadable_has_its_sentence_at_once(page, url):
    keep(page, url, BROKEN)
    edit(page, url, "0")
    step(page, "alternator")
    expect(page.locator('[id="alternator.0.kind-error"]')).to_contain_text("unheard of")
    expect(page.locator('[id="alternator.0.set_point-error"]')).to_be_visible()
    page.check('[name="alternator.0.kind"][value="fixed"]')
    expect(page.locator('[id="alternator.0.kind-error"]')).to_be_hidden()
    assert only(page)["alternator"] == {"kind": "fixed", "set_point": "12 bananas"}


def test_a_paste_that_no_file_can_hold_is_cut_or_said(blank):
    step(blank, "load")
    blank.focus('[name="load.0.name"]')
    blank.keyboard.insert_text("x" * 5000)
    assert len(entry(blank, "load.0.name")) <= LONGEST_TEXT
    blank.fill('[name="load.0.name"]', "a\u202eb")
    expect(blank.locator("#problem")).to_be_in_viewport()
    assert "plain text" in blank.inner_text("#problem")
    blank.fill('[name="load.0.name"]', "Fridge")
    expect(blank.locator("#problem")).to_be_hidden()


def test_what_does_not_go_together_is_said(blank):
    step(blank, "link")
    blank.check('[name="link.0.kind"][value="relay"]')
    blank.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    blank.fill('[name="link.0.connects_at"]', "12.5 V")
    blank.fill('[name="link.0.disconnects_at"]', "13.5 V")
    expect(blank.locator("#notes li").first).to_be_visible()


def test_markup_in_an_entry_stays_text(blank):
    ran = []
    blank.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    evil = '<img src=x onerror="alert(1)">'
    step(blank, "load")
    blank.fill('[name="load.0.name"]', evil)
    blank.fill('[name="load.0.current"]', "1 A")
    expect(blank.locator("#drawing")).to_contain_text("<img")
    step(blank, "name")
    blank.fill("#set-up-name", evil)
    blank.click("#done")
    expect(blank.locator("#opened-name")).to_have_text(evil)
    expect(blank.locator("#kept h3")).to_have_text(evil)
    assert blank.locator("main img").count() == 0
    assert ran == []


def test_a_jump_within_the_page_costs_nothing(page, url):
    keep(page, url, VAN)
    edit(page, url, "0")
    page.evaluate("location.hash = '#main'")
    expect(page).to_have_url(f"{url}set-ups/edit/#id=0")
    page.reload()
    step(page, "run")
    assert entry(page, "run.0.length") == "6.2 m"


# Read and tapped


@pytest.mark.parametrize("part", STEPS)
def test_every_step_can_be_read_and_tapped(page, url, part):
    """With several of each, details open and errors shown."""
    keep(page, url, BROKEN)
    edit(page, url, "0")
    step(page, part)
    open_all(page)
    assert look(page) == {}


@pytest.mark.parametrize("width", [PHONE["width"], 320])
def test_a_step_fits_with_text_twice_as_large(page, url, width):
    keep(page, url, BROKEN)
    edit(page, url, "0")
    page.set_viewport_size({"width": width, "height": 740})
    page.evaluate("document.documentElement.style.setProperty('font-size', '225%')")
    for part in STEPS:
        step(page, part)
        open_all(page)
        room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert room[0] <= room[1], part


def test_the_pages_are_sound_html_with_everything_in_them(page, url, tmp_path):
    keep(page, url, BROKEN, VAN)
    edit(page, url, "0")
    step(page, "load")
    page.click(".part:visible [data-add]")
    (tmp_path / "edit.html").write_text(page.content(), "utf-8")
    page.goto(f"{url}set-ups/#id=0")
    expect(page.locator("#opened")).to_be_visible()
    expect(page.locator("#comparison table")).to_be_visible()
    page.click("#show-code")
    expect(page.locator("#code svg")).to_be_visible()
    (tmp_path / "look.html").write_text(page.content(), "utf-8")
    page.goto(f"{url}checks/cable-drop/")
    expect(page.locator("#gives button")).to_be_visible()
    (tmp_path / "check.html").write_text(page.content(), "utf-8")
    assert complaints(sorted(tmp_path.glob("*.html")), tmp_path, AS_A_BROWSER_WRITES) == []
