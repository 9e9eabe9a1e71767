// Keeps the last searches, or sheets, of each set-up on this device, each as the address that brings it back, and lists them.
// What it reads was written here, or by anyone: what is not of the form that is written here is passed over.
import { attempt, newId } from "./keep.js";
import { carried, find, home, listen, turnTo } from "./place.js";

const MOST = 3; // of one vehicle
const LONGEST = 8000; // characters of an address that is kept
const LONGEST_WORDS = 300;

const isWords = (text) => typeof text === "string" && text.length <= LONGEST_WORDS;

function read(key) {
  const one = attempt(() => JSON.parse(localStorage.getItem(key)), null);
  const isOurs = one && typeof one.hash === "string" && one.hash.startsWith("#") && one.hash.length <= LONGEST
    && isWords(one.vehicle) && isWords(one.name) && isWords(one.told) && Number.isFinite(one.at);
  return isOurs ? [{ ...one, key }] : [];
}

export class Sessions {
  #box;
  #prefix;
  #key = null; // of the one that is on the page, once it is kept
  #isOn = false; // whether one is on the page: others are then not offered

  constructor(box) {
    this.#box = box;
    this.#prefix = `field-book ${home.pathname} ${box.dataset.kind} `;
    this.#meet();
    listen("hashchange", () => { if (carried().includes("=")) this.#meet(); });
    listen("storage", () => this.list());
    this.list();
  }

  get #all() {
    return attempt(() => Object.keys(localStorage).filter((key) => key.startsWith(this.#prefix)), [])
      .flatMap(read).sort((a, b) => b.at - a.at);
  }

  // Takes up the one that the address brings, which may be a kept one.
  #meet() {
    this.#key = this.#all.find(({ hash }) => hash === `#${carried()}`)?.key ?? null;
    this.#isOn = carried().includes("=");
  }

  // Keeps the one that is on the page, with the vehicle it is about (its id and name) and what it has told.
  keep({ id, name }, told) {
    this.#isOn = true;
    this.#key ??= this.#prefix + newId();
    const one = { hash: `#${carried()}`, vehicle: id ?? "", name, told, at: Date.now() };
    const isKept = attempt(() => { localStorage.setItem(this.#key, JSON.stringify(one)); return true; }, false);
    find("session-not-kept").hidden = isKept;
    const older = this.#all.filter(({ vehicle }) => vehicle === one.vehicle).slice(MOST);
    for (const { key } of older) attempt(() => localStorage.removeItem(key));
    this.list();
  }

  // One that has no reading any more is over; the next one is another.
  leave() {
    this.#key = null;
    this.#isOn = false;
    this.list();
  }

  list() {
    const others = this.#all.filter(({ key }) => key !== this.#key);
    this.#box.hidden = this.#isOn || !others.length;
    this.#box.querySelector("ul").replaceChildren(...others.map((one) => this.#item(one)));
  }

  #item({ key, hash, name, told, at }) {
    const item = this.#box.querySelector("template").content.cloneNode(true);
    if (name) item.querySelector(".vehicle").textContent = name;
    item.querySelector("time").textContent = new Date(at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    item.querySelector(".says").textContent = told;
    item.querySelector("[data-go]").onclick = () => turnTo(hash.slice(1));
    item.querySelector("[data-delete]").onclick = () => {
      attempt(() => localStorage.removeItem(key));
      this.list();
    };
    return item;
  }
}
