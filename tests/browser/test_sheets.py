"""Sheets on paper, and the camp card that is there before the engine, or without it."""

from __future__ import annotations

import io
import json
import unicodedata

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

import calc
from tests.browser.conftest import edition, expect_values, wait_for
from tests.browser.set_ups import DEMOS, VAN, clear, edit, keep, key, site_path
from tests.browser.test_look import look

NO_ENGINE = "delete window.WebAssembly"
"""A browser in which no engine can start."""

CARD = "camp-card"
PAPER = {"A4": (595, 842), "Letter": (612, 792)}
"""Width and height of a page [pt]."""


def plain(text: str) -> str:
    """Return a text with its words parted by one space, and each letter for itself, as a PDF may join them."""
    return " ".join(unicodedata.normalize("NFKC", text).split())


def squeezed(text: str) -> str:
    """Return a text with no space at all: where a PDF breaks a line hangs on the fonts there are."""
    return plain(text).replace(" ", "")


def card_key(page: Page, id: str) -> str:
    """Return the key under which the browser keeps the card of a set-up."""
    return f"field-book {site_path(page)} card {id}"


def kept_card(page: Page, id: str = "0") -> dict | None:
    """Return the card that is kept beside a set-up."""
    return json.loads(page.evaluate("key => localStorage.getItem(key)", card_key(page, id)) or "null")


def wait_for_card(page: Page, id: str = "0", **has: str) -> dict:
    """Wait until a card is kept that has these entries, and return it."""
    for _ in range(600):
        card = kept_card(page, id)
        if card and all(card[key] == value for key, value in has.items()):
            return card
        page.wait_for_timeout(50)
    pytest.fail(f"no card with {has}, but {card}")


@pytest.fixture(scope="module")
def card(saved) -> dict:
    """The card of a set-up, as the page of all set-ups makes it."""
    context, host = saved
    page = context.new_page()
    keep(page, host.url, VAN)
    page.goto(f"{host.url}set-ups/")
    made = wait_for_card(page)
    page.close()
    return made


@pytest.fixture
def dark(page, url, card) -> Page:
    """A page whose engine cannot start, on a phone that keeps the set-up and its card."""
    page.add_init_script(NO_ENGINE)
    keep(page, url, VAN)
    put(page, json.dumps(card))
    return page


def put(page: Page, text: str) -> None:
    """Put a text in the place of the card."""
    page.evaluate("([key, text]) => localStorage.setItem(key, text)", [card_key(page, "0"), text])


def cells(page: Page, box: str) -> list[str]:
    """Return the text of every cell of every sheet in a box."""
    return [plain(text) for text in page.locator(f"{box} table.sheet :is(th, td)").all_text_contents()]


def of_answer(answer: calc.Answer) -> list[str]:
    """Return the same of an answer."""
    return [plain(text) for one in answer.sheets for row in (one.headings, *one.rows) for text in row]


# The kept card


def test_its_card_is_there_at_once_with_no_engine(dark, url, built):
    dark.goto(f"{url}checks/{CARD}/")
    wait_for(dark, engine="unavailable")
    expect(dark.locator("#kept-card")).to_be_visible()
    expect(dark.locator("#answer")).to_be_hidden()
    answer = calc.run(CARD, {}, VAN)
    assert cells(dark, "#kept-card") == of_answer(answer)
    words = plain(dark.inner_text("#kept-card"))
    assert "Camp card: Van" in words and f"Made by edition {edition(built)}" in words and plain(answer.about) in words
    assert all(plain(caution) in words for caution in answer.cautions)
    assert dark.locator("#kept-card [data-older]").is_hidden()


def test_the_look_at_a_set_up_shows_it_too(dark, url):
    dark.goto(f"{url}set-ups/#id=0")
    wait_for(dark, engine="unavailable")
    expect(dark.locator("#kept-card")).to_be_visible()
    assert cells(dark, "#kept-card") == of_answer(calc.run(CARD, {}, VAN))


def test_with_no_set_up_the_usual_card_stands_there(dark, url):
    dark.goto(f"{url}checks/{CARD}/")
    dark.select_option("#from-set-up", "")
    expect(dark.locator("#kept-card")).to_be_hidden()
    expect(dark.locator("#answer")).to_be_visible()
    assert cells(dark, "#pictures") == of_answer(calc.run(CARD, calc.checks()[CARD].example))
    dark.select_option("#from-set-up", "0")
    expect(dark.locator("#kept-card")).to_be_visible()


def test_where_the_engine_runs_its_answer_takes_the_place(page, url, card):
    keep(page, url, VAN)
    put(page, json.dumps(card))
    page.goto(f"{url}checks/{CARD}/")
    expect(page.locator("#kept-card")).to_be_visible()
    expect(page.locator("#heading-answer")).to_be_visible()
    expect(page.locator("#kept-card")).to_be_hidden()
    assert cells(page, "#pictures") == of_answer(calc.run(CARD, {}, VAN))


# A sheet that is filled in on the phone

SHEET = "commissioning-sheet"
UNDER_THE_FINGER = "[document.activeElement.dataset.key, document.activeElement.getBoundingClientRect().top]"


def cell(page: Page, key: str):
    """Return the cell that takes a reading."""
    return page.locator(f'#pictures [data-key="{key}"]')


def enter(page: Page, key: str, text: str) -> None:
    """Type into a cell, whatever the page does meanwhile, and go on to the next."""
    cell(page, key).fill("")
    cell(page, key).press_sequentially(text)
    page.keyboard.press("Enter")


@pytest.fixture
def sheet(page, url) -> Page:
    """An empty sheet of a usual vehicle."""
    clear(page, url)
    page.goto(f"{url}checks/{SHEET}/")
    expect(page.locator("#pictures input")).to_have_count(0)  # a worked example takes no readings
    page.click("#begin")
    expect(cell(page, "starter rested")).to_be_focused()
    expect(page.locator("#begin")).to_be_hidden()
    return page


def test_what_is_entered_in_the_cells_is_what_the_text_would_say(sheet, url):
    for point, text in (("starter rested", "12,61"), ("second rested", "11.2 V"), ("starter-drain rested", "−0.01")):
        enter(sheet, point, text)
    readings = "starter rested 12.61 V; second rested 11.2 V; starter-drain rested -0.01 A"
    expect(sheet.locator("#readings")).to_have_value(readings)
    expect(cell(sheet, "second rested").locator("+ .became")).to_have_text("look again")
    expect_values(sheet, calc.run(SHEET, {"readings": readings}).to_dict()["values"], SHEET)
    expect(sheet.locator("#answer .says").first).to_contain_text("Look again at 1 reading of 3")
    sheet.reload()
    expect(cell(sheet, "second rested")).to_have_value("11.2")


def test_a_cell_goes_on_to_the_next_and_an_emptied_one_takes_its_reading_back(sheet):
    sheet.keyboard.type("12.6")
    sheet.keyboard.press("Enter")
    expect(cell(sheet, "link-in rested")).to_be_focused()
    expect(sheet.locator("#readings")).to_have_value("starter rested 12.6 V")
    expect(cell(sheet, "link-in rested")).to_be_focused()
    cell(sheet, "starter rested").fill("")
    sheet.keyboard.press("Tab")
    expect(sheet.locator("#readings")).to_have_value("")
    expect(cell(sheet, "starter rested").locator("+ .became")).to_have_count(0)


def test_what_is_no_reading_stays_with_its_sentence_and_costs_no_other(sheet):
    for point, text in (("starter rested", "12.6"), ("link-in rested", "<b>"), ("link-out rested", "12.4")):
        enter(sheet, point, text)
    expect(sheet.locator("#readings")).to_have_value("starter rested 12.6 V; link-out rested 12.4 V")
    expect(cell(sheet, "link-in rested")).to_have_value("<b>")
    expect(cell(sheet, "link-in rested")).to_have_attribute("aria-invalid", "true")
    expect(sheet.locator("#sheet-error")).to_contain_text("“<b>” does not start with a number")
    enter(sheet, "link-in rested", "900")
    expect(sheet.locator("#sheet-error")).to_contain_text("another range")
    enter(sheet, "link-in rested", "12.5")
    expect(sheet.locator("#sheet-error")).to_be_hidden()
    expect(sheet.locator("#pictures [aria-invalid]")).to_have_count(0)


def test_readings_given_as_text_are_in_the_cells_and_stay(sheet):
    """One that no cell of the sheet takes, or that is out of reach, is kept with the others."""
    sheet.fill("#readings", "second battery at rest 12.7; alternator running ?; starter cranking 10.4 V")
    expect(cell(sheet, "second rested")).to_have_value("12.7")
    expect(cell(sheet, "alternator running")).to_have_value("?")
    enter(sheet, "starter rested", "12.6")
    said = "second rested 12.7 V; alternator running ?; starter cranking 10.4 V; starter rested 12.6 V"
    expect(sheet.locator("#readings")).to_have_value(said)


def test_it_stays_under_the_finger_and_within_the_page(sheet):
    """The answer above grows by a verdict as a reading is taken."""
    cell(sheet, "second rested").press_sequentially("9.1")
    sheet.evaluate(f"addEventListener('keyup', () => {{ window.before = {UNDER_THE_FINGER}; }})")
    sheet.keyboard.press("Enter")
    expect(sheet.locator("#answer .says").first).to_contain_text("Look again")
    (key, top), (key_then, top_then) = sheet.evaluate(UNDER_THE_FINGER), sheet.evaluate("window.before")
    assert key == key_then == "starter-drain rested"
    assert abs(top - top_then) < 2
    for table in sheet.locator("table.takes").all():
        assert table.evaluate("t => t.parentElement.scrollWidth <= t.parentElement.clientWidth")
        assert all(box["height"] >= 48 for box in (c.bounding_box() for c in table.locator("input").all()))


def test_a_sheet_is_gone_on_with_after_the_page_was_closed(sheet, url):
    """While it is offered another may be begun: it goes as a reading comes, and the cell stays in its place."""
    enter(sheet, "starter rested", "12.6")
    expect(sheet.locator("#readings")).to_have_value("starter rested 12.6 V")
    expect(sheet.locator("#answer .says").first).to_be_visible()
    sheet.goto("about:blank")
    sheet.goto(f"{url}checks/fault-finder/")
    expect(sheet.locator("#sessions")).to_be_hidden()
    sheet.goto(f"{url}checks/{SHEET}/")
    expect(sheet.locator("#sessions li")).to_contain_text("A usual vehicle")
    sheet.click("#begin")
    expect(sheet.locator("#sessions")).to_be_visible()
    cell(sheet, "second rested").press_sequentially("9.1")
    sheet.evaluate(f"addEventListener('keyup', () => {{ window.before = {UNDER_THE_FINGER}; }})")
    sheet.keyboard.press("Enter")
    expect(sheet.locator("#sessions")).to_be_hidden()
    (key, top), (key_then, top_then) = sheet.evaluate(UNDER_THE_FINGER), sheet.evaluate("window.before")
    assert key == key_then == "starter-drain rested"
    assert abs(top - top_then) < 2
    sheet.goto("about:blank")
    sheet.goto(f"{url}checks/{SHEET}/")
    expect(sheet.locator("#sessions li")).to_have_count(2)
    sheet.locator("#sessions li").last.locator("[data-go]").click()
    expect(cell(sheet, "starter rested")).to_have_value("12.6")
    expect(sheet.locator("#sessions")).to_be_hidden()


def test_where_no_sheet_can_be_kept_it_says_so(sheet):
    sheet.evaluate("Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }; 0")
    enter(sheet, "starter rested", "12.6")
    expect(sheet.locator("#session-not-kept")).to_be_visible()
    expect(sheet.locator("#readings")).to_have_value("starter rested 12.6 V")


def test_a_sheet_can_be_read_and_tapped(sheet):
    enter(sheet, "starter rested", "12.6")
    enter(sheet, "link-in rested", "none")
    expect(sheet.locator("#sheet-error")).to_be_visible()
    assert look(sheet) == {}


def test_paper_shows_what_was_entered(sheet):
    enter(sheet, "starter rested", "12.61")
    expect(cell(sheet, "starter rested").locator("+ .became")).to_have_text("pass")
    text = plain("".join(leaf.extract_text() for leaf in PdfReader(io.BytesIO(sheet.pdf(format="A4"))).pages))
    assert "12.61" in text and "pass" in text and "pass / look again" in text


DAMAGED = {
    "no JSON": lambda card: "{",
    "nothing": lambda card: "null",
    "another thing": lambda card: "[1, 2]",
    "a row too short": lambda card: changed(card, rows=[["only one"]]),
    "a number for a text": lambda card: json.dumps(card | {"about": 3}),
    "too long": lambda card: json.dumps(card | {"about": "x" * 2000}),
    "too many": lambda card: json.dumps(card | {"says": ["x"] * 100}),
    "no edition": lambda card: json.dumps({key: value for key, value in card.items() if key != "edition"}),
}


def changed(card: dict, **sheet) -> str:
    """Return a card's text with its first table changed."""
    first, *others = card["sheets"]
    return json.dumps(card | {"sheets": [first | sheet, *others]})


def shown_again(page: Page, url: str, text: str) -> None:
    """Put a text in the place of the card, and open its page."""
    page.goto(f"{url}missing/")
    put(page, text)
    page.goto(f"{url}checks/{CARD}/")
    wait_for(page, engine="unavailable")


def test_a_damaged_one_is_passed_over(dark, url, card):
    for name, damage in DAMAGED.items():
        shown_again(dark, url, damage(card))
        assert dark.locator("#kept-card").is_hidden(), name
        assert dark.locator("#answer").is_visible(), name


def test_markup_in_it_stays_words(dark, url, card):
    bad = "<img src=x onerror='document.title=1'><b>bold</b>"
    shown_again(
        dark, url, changed(card | {"about": bad, "says": [bad], "name": bad, "cautions": [bad]}, title=bad, note=bad)
    )
    expect(dark.locator("#kept-card")).to_be_visible()
    assert dark.locator("#kept-card :is(img, b)").count() == 0
    assert dark.locator("#kept-card .caption").first.inner_text() == bad
    assert dark.title() != "1"


def test_one_of_another_edition_or_an_older_set_up_is_shown_and_says_so(dark, url, card):
    shown_again(dark, url, json.dumps(card | {"edition": "0123456789ab", "of": "{}"}))
    expect(dark.locator("#kept-card [data-older]")).to_be_visible()
    expect(dark.locator("#kept-card [data-made-by]")).to_have_text("0123456789ab")


def test_a_change_makes_it_anew_and_deleting_takes_it_along(page, url, card):
    keep(page, url, VAN)
    put(page, json.dumps(card))
    edit(page, url, "0")
    page.fill('[name="second.0.capacity"]', "110 Ah")
    new = page.evaluate("key => localStorage.getItem(key)", key(page, "0"))
    assert "110 Ah" in new
    wait_for_card(page, of=new)
    page.goto(f"{url}set-ups/")
    page.click('[data-do="delete"]')
    assert kept_card(page) is None
    page.click("#undo button")
    wait_for_card(page, of=new)


# On paper


def pdf(page: Page, **how) -> list[str]:
    """Print the page; return the text of each page of it."""
    document = PdfReader(io.BytesIO(page.pdf(**how)))
    if "format" in how:
        sides = sorted(PAPER[how["format"]], reverse=how.get("landscape", False))
        assert [float(n) for n in document.pages[0].mediabox[2:]] == pytest.approx(sides, abs=2)
    return [squeezed(each.extract_text()) for each in document.pages]


def expect_all(answer: calc.Answer, text: str, pocket: bool) -> None:
    """Expect every cell, every note and every caution of an answer in a printed text."""
    for one in answer.sheets:
        if one.pocket or not pocket:
            for cell in (one.title, one.note, *one.headings, *(cell for row in one.rows for cell in row)):
                assert squeezed(cell) in text, cell
    for caution in answer.cautions:
        assert squeezed(caution) in text


@pytest.mark.parametrize("check", [check for check in calc.checks().values() if check.prints], ids=lambda c: c.id)
def test_a_sheet_prints_whole_on_both_papers_without_its_form_and_folded(page, url, built, check):
    set_up = DEMOS["island_van"]
    keep(page, url, set_up)
    page.goto(f"{url}checks/{check.id}/")
    expect(page.locator("#heading-answer")).to_be_visible()
    answer = calc.run(check.id, {}, set_up)
    for paper in PAPER:
        text = "".join(pdf(page, format=paper))
        expect_all(answer, text, False)
        for told in (set_up.name, answer.about, f"made by edition {edition(built)}"):
            assert squeezed(told) in text
        for form in ("Read more", "Print as a pocket card", "Leave blank what you do not know", "Clear"):
            assert squeezed(form) not in text
    small = pdf(page, width="150mm", height="120mm")
    for one in answer.sheets:
        for row in one.rows:
            assert any(all(squeezed(cell) in each for cell in row) for each in small), row
    heads = ["".join(map(squeezed, one.headings)) for one in answer.sheets]
    assert sum(each.count(head) for each in small for head in set(heads)) > len(heads), "no head came again"
    if "pocket" in check.prints:
        page.check("#pocket")
        for paper, (height, width) in PAPER.items():
            pages = pdf(page, format=paper, landscape=True)
            assert len(pages) == 1, paper
            expect_all(answer, pages[0], True)
            page.emulate_media(media="print")
            page.set_viewport_size({"width": round((width - 40) * 96 / 72), "height": round(height * 96 / 72)})
            over = page.eval_on_selector_all(
                ".one-sheet:not(.no-pocket), .cautions",
                "all => all.map((e) => [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth])",
            )
            assert len(over) <= 8 and all(down <= 1 and across <= 1 for down, across in over), (paper, over)
