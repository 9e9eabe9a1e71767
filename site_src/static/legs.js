// Edits a trip leg by leg. The field's own text stays the one truth: what is changed in a leg is written into it, and legs are
// made from it where it has the plain spelling; any other spelling waits until the engine has said it plainly.

const BETWEEN = ", ";
const AIR = "..";

function written({ kind, number, unit, sky, coldest, hottest, degrees }) {
  const air = [coldest, hottest].filter(Boolean).join(AIR);
  return [kind, number, unit, sky, air && `${air} ${degrees}`].filter(Boolean).join(" ");
}

// The leg that a plain spelling means; another spelling gives a leg that is written differently.
function read(text) {
  const [kind, number, unit, ...more] = text.split(" ");
  const air = more.findIndex((word) => word.includes(AIR));
  const [coldest, hottest] = more[air]?.split(AIR) ?? [];
  const degrees = air < 0 ? undefined : more[air + 1];
  const sky = more.find((_, n) => air < 0 || (n !== air && n !== air + 1));
  return { kind, number, unit, sky, coldest, hottest, degrees };
}

export class Legs {
  #box;
  #text;
  #isOwn = false; // whether the text was last written by the legs themselves
  #shown = ""; // the text that the legs were last made from

  constructor(box, text) {
    this.#box = box;
    this.#text = text;
    box.addEventListener("input", (event) => this.#input(event));
    box.addEventListener("click", (event) => this.#click(event));
    text.addEventListener("input", (event) => { if (event.isTrusted) this.refresh(); });
    this.refresh();
  }

  // Makes the legs anew from the text that stands in the field.
  refresh() { this.show(this.#text.value); }

  // Shows the legs of a text, if it has the plain spelling.
  show(text) {
    this.#isOwn = false;
    const legs = text.trim().split(BETWEEN).map(read);
    const isPlain = legs.map(written).join(BETWEEN) === text.trim() && legs.every((leg) => this.#takes(leg));
    this.#box.hidden = !isPlain;
    if (isPlain) this.#fill(legs);
    this.#shown = isPlain ? text : "";
  }

  // Shows what the engine understood of each field's text, where the text was not written by the legs, and is not shown yet.
  understood(plain) {
    const text = plain?.[this.#text.name];
    if (text && !this.#isOwn && text !== this.#shown) this.show(text);
  }

  get #degrees() { return this.#box.dataset.degrees; }

  get #rows() { return [...this.#box.querySelectorAll(".leg")]; }

  #takes(leg) {
    const lists = [...this.#box.querySelector("template").content.querySelectorAll("select")];
    const isThere = (list) => [...list.options].some((option) => option.value === (leg[list.dataset.part] ?? ""));
    return [undefined, this.#degrees].includes(leg.degrees) && lists.every(isThere);
  }

  #read() {
    return this.#rows.map((row) => ({
      degrees: this.#degrees,
      ...Object.fromEntries([...row.querySelectorAll("[data-part]")].map((e) => [e.dataset.part, e.value.trim()])),
    }));
  }

  #fill(legs) {
    const template = this.#box.querySelector("template").innerHTML;
    const list = this.#box.querySelector(".leg-list");
    list.innerHTML = legs.map((_, n) => template.replaceAll("__n__", n + 1)).join("");
    this.#rows.forEach((row, n) => {
      for (const e of row.querySelectorAll("[data-part]")) e.value = legs[n][e.dataset.part] ?? "";
      row.querySelector("[data-up]").hidden = n === 0;
      row.querySelector("[data-remove]").hidden = legs.length === 1;
    });
    this.#box.querySelector("[data-add]").hidden = legs.length >= Number(this.#box.dataset.most);
  }

  #write(legs) {
    this.#isOwn = true;
    this.#text.value = legs.map(written).join(BETWEEN);
    this.#text.dispatchEvent(new Event("input", { bubbles: true }));
  }

  #input(event) {
    event.stopPropagation();
    const list = event.target;
    if (list.dataset.journey === undefined) return this.#write(this.#read());
    if (list.value) this.#change(list.value.split(BETWEEN).map(read));
    list.value = "";
    return undefined;
  }

  #change(legs) {
    this.#fill(legs);
    this.#write(legs);
  }

  #click({ target }) {
    const legs = this.#read();
    const at = this.#rows.indexOf(target.closest(".leg"));
    if (target.dataset.add !== undefined) {
      this.#change([...legs, legs.at(-1)]);
      this.#focus(legs.length, "select");
    } else if (target.dataset.remove !== undefined) {
      this.#change(legs.filter((_, n) => n !== at));
      this.#focus(Math.max(at - 1, 0), "select");
    } else if (target.dataset.up !== undefined) {
      [legs[at - 1], legs[at]] = [legs[at], legs[at - 1]];
      this.#change(legs);
      this.#focus(at - 1, at > 1 ? "[data-up]" : "select");
    }
  }

  #focus(row, what) { this.#rows[row].querySelector(what).focus(); }
}
