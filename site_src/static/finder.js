// Guides through a search reading by reading. The field's text stays the one truth: Python writes every reading and every
// question into the page, and what is typed here goes back as one entry more, changed or less.
import { find } from "./place.js";

const BETWEEN = "; ";
const UNREACHED = "?";

export class Finder {
  #field;
  #guided = find("guided");
  #propose; // asks with another text of the field, which is taken over where it can be read; resolves to the reply

  constructor(field, propose) {
    this.#field = field;
    this.#propose = propose;
    this.#guided.addEventListener("submit", (event) => { event.preventDefault(); this.#putIn(); });
    this.#guided.addEventListener("click", (event) => this.#click(event));
    this.#guided.addEventListener("change", ({ target }) => { if (target.id === "rather" && target.value) this.#turnTo(target.value); });
    this.#guided.addEventListener("input", () => this.#showError(""));
  }

  get #entries() {
    return [...this.#guided.querySelectorAll("[data-plain]")].map(({ dataset }) => ({ key: dataset.key, plain: dataset.plain }));
  }

  #click({ target }) {
    const { key } = target.closest("[data-key]")?.dataset ?? {};
    if (target.dataset.vehicle !== undefined) return find("vehicle-fields").setAttribute("open", "");
    if (target.dataset.turn !== undefined) return this.#turnSign();
    if (target.dataset.skip !== undefined) return this.#write(key, `${key} ${UNREACHED}`);
    if (target.dataset.change !== undefined) return this.#turnTo(key);
    if (target.dataset.remove !== undefined) return this.#write(key);
    if (target.dataset.back !== undefined) return this.#back();
    return undefined;
  }

  #turnSign() {
    const typed = find("reading").value.trim();
    find("reading").value = /^[-−]/u.test(typed) ? typed.slice(1).trim() : `-${typed.replace(/^\+/u, "")}`;
    find("reading").focus();
  }

  #putIn() {
    const { key } = this.#guided.querySelector(".entry").dataset;
    const typed = find("reading").value.trim();
    const unit = /[\p{N}.,]$/u.test(typed) ? ` ${find("reading-unit").value}` : "";
    if (typed) return this.#write(key, `${key} ${typed}${unit}`, typed + unit);
    return find("reading").focus();
  }

  // Writes one entry in the place of the one with its key, or behind all, or takes it out.
  async #write(key, plain, typed) {
    const all = this.#entries;
    const at = all.findIndex((one) => one.key === key);
    const written = plain ? [{ key, plain }] : [];
    all.splice(at < 0 ? all.length : at, 1, ...written);
    const reply = await this.#propose(all.map((one) => one.plain).join(BETWEEN), { typed });
    const sentence = reply.misread ?? reply.errors?.[this.#field.name];
    if (sentence) this.#showError(sentence);
    else if (reply.guided) this.#next();
  }

  // Takes back what was written last, which is what stands last.
  async #back() {
    const reply = await this.#propose(this.#field.value.split(BETWEEN).slice(0, -1).join(BETWEEN));
    if (reply.guided) this.#next();
  }

  async #turnTo(key) {
    const reply = await this.#propose(this.#field.value, { wanted: key });
    if (reply.guided) this.#next(find("reading"));
  }

  #next(to = find("question-heading")) {
    find("told").textContent = this.#guided.firstElementChild.dataset.told;
    to.focus({ preventScroll: true });
    find("question-heading").scrollIntoView({ block: "start" });
  }

  #showError(sentence) {
    const note = find("reading-error");
    if (!note) return;
    note.textContent = sentence;
    note.hidden = !sentence;
    if (!sentence) return find("reading").removeAttribute("aria-invalid");
    find("reading").setAttribute("aria-invalid", "true");
    return find("reading").focus();
  }
}
