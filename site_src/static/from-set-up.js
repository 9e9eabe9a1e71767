// The set-up that a check's page starts from: which one, what each field took from it, and what can be written back.
import * as store from "./keep.js";
import { all, find } from "./place.js";

export class Start {
  texts = {}; // what each field took from the set-up, as it would be typed
  link = null; // the whole set-up as a link carries it, where the answer rests on all of it
  #current = null;

  constructor(changed) {
    const list = find("from-set-up");
    list.addEventListener("change", () => {
      this.use(list.value);
      store.choose(list.value || null);
      changed();
    });
    store.onOtherTab(() => {
      if (this.isSet && !this.id) return; // it came with a link, and is kept in no tab
      this.use(this.id);
      changed();
    });
    this.use(null);
  }

  get id() { return this.#current?.id ?? null; }

  // The vehicle that answers are about: its id where it is kept here, and its name.
  get vehicle() { return { id: this.id, name: this.isSet ? find("from-set-up").selectedOptions[0].textContent : "" }; }

  get isSet() { return Boolean(this.#current); }

  // What tells the engine which set-up it is.
  get request() { return this.#current && { set_up: this.#current.text, link: this.#current.link }; }

  // Starts from a kept set-up, or from none.
  use(id) {
    const kept = store.kept();
    const list = find("from-set-up");
    list.replaceChildren(list.options[0], ...kept.map((one) => new Option(one.name || list.dataset.noName, one.id)));
    this.#current = kept.find((one) => one.id === id) ?? null;
    this.link = null;
    list.value = this.id ?? "";
    find("from").hidden = !kept.length;
    find("describe").hidden = Boolean(kept.length);
    find("from-error").hidden = true;
    if (!this.#current) this.show({});
    else for (const note of all(".start")) note.hidden = false; // room for what comes: nothing jumps
  }

  // Starts from a set-up that a link carries, and that is not kept here.
  useLink(link) {
    this.use(null);
    const list = find("from-set-up");
    list.add(new Option(list.dataset.ofLink, list.dataset.ofLink, true, true));
    this.#current = { id: null, link };
    this.link = link;
    find("from").hidden = false;
    find("describe").hidden = true;
  }

  useChosen() { this.use(store.chosen()?.id ?? null); }

  // Shows what a reply took from the set-up; `write` asks the engine to put an answer into it.
  show({ starts = {}, gives = [], missing = "", link = null, name = "" }, write) {
    this.link = link ?? this.#current?.link ?? null;
    if (this.isSet && !this.id && name) find("from-set-up").selectedOptions[0].textContent = name;
    this.texts = Object.fromEntries(Object.entries(starts).map(([name, { text }]) => [name, text]));
    for (const note of all(".start")) {
      const sentence = starts[note.dataset.startOf]?.note ?? "";
      note.textContent = sentence;
      note.hidden = !sentence;
    }
    find("unknown").innerHTML = missing;
    find("written").hidden = true;
    find("not-written").hidden = true;
    find("gives").replaceChildren(...(this.id ? gives : []).map((give) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "quiet";
      button.textContent = give.words;
      button.onclick = () => this.#writeBack(give, write);
      return button;
    }));
  }

  // Says why the set-up cannot be used; the check is then asked without it.
  refuse(sentence) {
    this.use(null);
    find("from-error").textContent = sentence;
    find("from-error").hidden = false;
  }

  // `give` says what is written: one value and its place, or a whole run.
  async #writeBack(give, write) {
    const there = store.textOf(this.id) ?? this.#current.text; // another tab may have changed it
    const { set_up: changed } = await write({ do: "write", set_up: there, ...give });
    const isWritten = Boolean(changed) && store.keep(this.id, changed);
    if (isWritten) this.use(this.id);
    find("written").hidden = !isWritten;
    find("not-written").hidden = isWritten;
  }
}
