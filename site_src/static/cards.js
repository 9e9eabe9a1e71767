// Keeps the camp card of each set-up beside it, and shows it before the engine has started, or where it cannot.
// What is kept is words, never markup: a card is put together from a template, each text as text. So what stands in the
// store can at most say something wrong, whoever wrote it; what is not of the form of a card is passed over.
import { attempt, cardText, keepCard, kept, onKept, textOf } from "./keep.js";
import { find } from "./place.js";

const CALM = 1500; // milliseconds after a set-up was kept before its card is made: the reader may still be typing
const LONGEST = 1000; // characters of one text
const MOST = 60; // sheets, rows or cells

const edition = document.documentElement.dataset.edition;

const isText = (text) => typeof text === "string" && text.length <= LONGEST;
const isList = (list, isOne) => Array.isArray(list) && list.length <= MOST && list.every(isOne);
const isTexts = (list) => isList(list, isText);
const isSheet = (sheet) => sheet && isText(sheet.title) && isText(sheet.note) && isTexts(sheet.headings)
  && isList(sheet.rows, (row) => isTexts(row) && row.length === sheet.headings.length);
const isCard = (card) => card && isText(card.edition) && typeof card.of === "string" && isText(card.name)
  && isText(card.about) && isTexts(card.says) && isTexts(card.cautions) && isList(card.sheets, isSheet);

function read(id) {
  const card = attempt(() => JSON.parse(cardText(id)), null);
  return isCard(card) ? card : null;
}

const isFresh = (id, text) => {
  const card = read(id);
  return card?.of === text && card.edition === edition;
};

// Makes the cards that are missing or old: soon after a set-up was kept, and whenever it is asked to.
export class Cards {
  #engine;
  #waiting;
  #isAtWork = false;

  constructor(engine) {
    this.#engine = engine;
    onKept(() => this.soon());
  }

  soon() {
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(() => this.#renew(), CALM);
  }

  async #renew() {
    if (this.#isAtWork) return this.soon();
    this.#isAtWork = true;
    for (const { id, text } of kept()) {
      if (isFresh(id, text)) continue;
      const { card } = await this.#engine.ask({ do: "card", set_up: text });
      if (card && textOf(id) === text) keepCard(id, JSON.stringify({ ...card, of: text, edition }));
    }
    this.#isAtWork = false;
    return undefined;
  }
}

const element = (name, text) => Object.assign(document.createElement(name), { textContent: text });
const items = (texts) => texts.map((text) => element("li", text));

function cellsOf(row) {
  const cells = row.map((text, n) => element(n ? "td" : "th", text));
  cells[0].scope = "row";
  return cells;
}

function sheetOf(box, { title, note, headings, rows }, number) {
  const sheet = box.querySelector("template").content.cloneNode(true);
  const caption = sheet.querySelector(".caption");
  caption.textContent = title;
  caption.id = `kept-sheet-${number}`;
  sheet.querySelector(".table").setAttribute("aria-labelledby", caption.id);
  if (note) sheet.querySelector(".sheet-note").textContent = note;
  else sheet.querySelector(".sheet-note").remove();
  sheet.querySelector("thead tr").replaceChildren(...headings.map((text) => Object.assign(element("th", text), { scope: "col" })));
  sheet.querySelector("tbody").replaceChildren(...rows.map((row) => {
    const line = document.createElement("tr");
    line.append(...cellsOf(row));
    return line;
  }));
  return sheet;
}

// Shows the card that is kept beside a set-up, or nothing; returns whether there is one.
export function showCard(id) {
  const box = find("kept-card");
  const card = id ? read(id) : null;
  box.hidden = !card;
  if (!card) return false;
  box.querySelector("[data-of]").textContent = `: ${card.name}`;
  box.querySelector("[data-about]").textContent = card.about;
  box.querySelector("[data-made-by]").textContent = card.edition;
  box.querySelector("[data-older]").hidden = card.of === textOf(id);
  box.querySelector("[data-says]").replaceChildren(...items(card.says));
  box.querySelector("[data-cautions]").replaceChildren(...items(card.cautions));
  box.querySelector(".sheets").replaceChildren(...card.sheets.map((sheet, n) => sheetOf(box, sheet, n)));
  return true;
}
