// Readings are entered in the cells of a sheet. The field's text stays the one truth: Python says it plainly and writes every
// reading into its cell, and what is entered goes back as one reading more, changed or less.
import { find } from "./place.js";

const BETWEEN = "; ";
const CELL = "input[data-key]";

export class Sheet {
  #box;
  #field;
  #propose; // asks with another text of the field, which is taken over where it can be read; resolves to the reply
  #plain = []; // the readings that the engine has understood
  #isHeld = false; // while cells are taken away, which ends the typing in one as leaving it would
  #refused = {}; // the cell whose text could not be read, and why
  #last = Promise.resolve(); // one reading after the other: each rests on those before

  constructor(box, field, propose) {
    this.#box = box;
    this.#field = field;
    this.#propose = propose;
    box.addEventListener("input", ({ target }) => { if (target.dataset.key === this.#refused.key) this.#refuse(); });
    box.addEventListener("focusout", ({ target }) => { if (target.matches(CELL) && !this.#isHeld) this.#take(target); });
    box.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.matches(CELL)) this.#goOn(event); });
  }

  // Takes what the engine understood of each field's text.
  understood(plain) { this.#plain = plain?.[this.#field.name]?.split(BETWEEN) ?? []; }

  // Goes to the first cell.
  begin() { this.#cells[0]?.focus(); }

  // Gives a function that brings back what was being typed, and where, once an answer is put in anew around it.
  hold() {
    const typed = this.#cells.filter((cell) => cell.value !== cell.defaultValue && cell.dataset.sent !== cell.value);
    const inHand = this.#cells.find((cell) => cell === document.activeElement);
    const top = inHand?.getBoundingClientRect().top;
    const texts = typed.map((cell) => [cell.dataset.key, cell.value]);
    this.#isHeld = true;
    return () => {
      this.#isHeld = false;
      for (const [key, text] of texts) if (this.#cell(key)) this.#cell(key).value = text;
      const cell = this.#cell(inHand?.dataset.key);
      this.#showRefused();
      if (!cell || cell === document.activeElement) return;
      cell.focus({ preventScroll: true });
      cell.setSelectionRange(inHand.selectionStart, inHand.selectionEnd);
      scrollBy({ top: cell.getBoundingClientRect().top - top, behavior: "instant" });
    };
  }

  get #cells() { return [...this.#box.querySelectorAll(CELL)]; }

  #cell(key) { return this.#cells.find((cell) => cell.dataset.key === key); }

  // Not at "change": that does not come where what was typed has been put back meanwhile.
  #take(cell) {
    if (cell.value === cell.defaultValue || cell.dataset.sent === cell.value) return;
    const { key } = cell.dataset;
    const typed = cell.value.trim();
    cell.dataset.sent = cell.value;
    this.#last = this.#last.then(() => this.#enter(key, typed));
  }

  async #enter(key, typed) {
    const others = this.#plain.filter((reading) => !reading.startsWith(`${key} `));
    if (key === this.#refused.key) this.#refuse();
    const all = typed ? [...others, `${key} ${typed}`] : others;
    const reply = await this.#propose(all.join(BETWEEN), typed ? { typed } : {});
    if (reply.answer) return;
    const cell = this.#cell(key);
    if (!cell) return;
    if (cell.value === cell.defaultValue) cell.value = typed; // and not what has been typed meanwhile
    delete cell.dataset.sent;
    this.#refuse(key, reply.misread ?? reply.errors?.[this.#field.name]);
  }

  // Says why the text of a cell could not be read; with no key, nothing is refused any more.
  #refuse(key, sentence = "") {
    this.#refused = { key, sentence };
    this.#showRefused();
  }

  #showRefused() {
    const { key, sentence } = this.#refused;
    const refused = this.#cell(key);
    if (!refused) this.#refused = {};
    for (const cell of this.#cells) cell.removeAttribute("aria-invalid");
    const note = find("sheet-error");
    if (!note) return;
    note.hidden = !(refused && sentence);
    note.textContent = refused ? sentence : "";
    refused?.setAttribute("aria-invalid", "true");
    refused?.closest(".table").after(note);
  }

  #goOn(event) {
    event.preventDefault();
    const cells = this.#cells;
    const next = cells[cells.indexOf(event.target) + 1];
    if (next) next.focus();
    else this.#take(event.target);
  }
}
