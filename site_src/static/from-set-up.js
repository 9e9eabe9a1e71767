// The set-up that a check's page starts from: which one, what each field took from it, and what can be written back.
import * as store from "./keep.js";

const find = (id) => document.getElementById(id);

export class Start {
  texts = {}; // what each field took from the set-up, as it would be typed
  #current = null;

  constructor(changed) {
    const list = find("from-set-up");
    list.addEventListener("change", () => {
      this.use(list.value);
      store.choose(list.value || null);
      changed();
    });
    store.onOtherTab(() => { this.use(this.id); changed(); });
    this.use(null);
  }

  get id() { return this.#current?.id ?? null; }

  get text() { return this.#current?.text; }

  // Starts from a kept set-up, or from none.
  use(id) {
    const all = store.kept();
    const list = find("from-set-up");
    list.replaceChildren(list.options[0], ...all.map((one) => new Option(one.name || list.dataset.noName, one.id)));
    this.#current = all.find((one) => one.id === id) ?? null;
    list.value = this.id ?? "";
    find("from").hidden = !all.length;
    find("describe").hidden = Boolean(all.length);
    find("from-error").hidden = true;
    if (!this.#current) this.show({});
    else for (const note of document.querySelectorAll(".start")) note.hidden = false; // room for what comes: nothing jumps
  }

  useChosen() { this.use(store.chosen()?.id ?? null); }

  // Shows what a reply took from the set-up; `write` asks the engine to put an answer into it.
  show({ starts = {}, gives = [], missing = "" }, write) {
    this.texts = Object.fromEntries(Object.entries(starts).map(([name, { text }]) => [name, text]));
    for (const note of document.querySelectorAll(".start")) {
      const sentence = starts[note.dataset.startOf]?.note ?? "";
      note.textContent = sentence;
      note.hidden = !sentence;
    }
    find("unknown").innerHTML = missing;
    find("written").hidden = true;
    find("not-written").hidden = true;
    find("gives").replaceChildren(...gives.map((give) => {
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
    const there = store.textOf(this.id) ?? this.text; // another tab may have changed it
    const { set_up: changed } = await write({ do: "write", set_up: there, ...give });
    const isWritten = Boolean(changed) && store.keep(this.id, changed);
    if (isWritten) this.use(this.id);
    find("written").hidden = !isWritten;
    find("not-written").hidden = isWritten;
  }
}
