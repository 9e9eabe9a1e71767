// Keeps set-ups on this device, each under a key of its own as the text of its file, apart from any edition of the book.
// Every storage failure is met: what cannot be kept is still in the page, and the page says so.
import { home, listen } from "./place.js";

const PREFIX = `field-book ${home.pathname} set-up `;
const CARD = `field-book ${home.pathname} card `;
const CHOSEN = `field-book ${home.pathname} chosen`;

export function attempt(action, otherwise) {
  try {
    return action();
  } catch {
    return otherwise;
  }
}

// Whether this browser keeps anything at all here.
export const canKeep = attempt(() => {
  localStorage.setItem(`${PREFIX}?`, "");
  localStorage.removeItem(`${PREFIX}?`);
  return true;
}, false);

export const newId = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

// The name of a copy: the mark always fits into what a name may have, and a long name gives way.
export const copyName = (name, { copyMark, longestName }) => [...name].slice(0, Number(longestName) - copyMark.length).join("") + copyMark;

export const nameOf = (text) => attempt(() => String(JSON.parse(text).name || ""), "");

export const textOf = (id) => attempt(() => localStorage.getItem(PREFIX + id), null);

// Every kept set-up, by name.
export function kept() {
  const ids = attempt(() => Object.keys(localStorage).filter((key) => key.startsWith(PREFIX)), []);
  return ids
    .map((key) => ({ id: key.slice(PREFIX.length), text: textOf(key.slice(PREFIX.length)) }))
    .filter(({ text }) => text)
    .map((one) => ({ ...one, name: nameOf(one.text) }))
    .sort((a, b) => a.name.localeCompare(b.name) || (a.id < b.id ? -1 : 1));
}

const KEPT = "set-up-kept";

// Returns whether it is kept.
export const keep = (id, text) => attempt(() => {
  localStorage.setItem(PREFIX + id, text);
  dispatchEvent(new Event(KEPT));
  return true;
}, false);

// Calls when this tab has kept a set-up.
export const onKept = (call) => listen(KEPT, call);

export const drop = (id) => attempt(() => {
  localStorage.removeItem(PREFIX + id);
  localStorage.removeItem(CARD + id);
});

// The camp card beside a set-up: any text, which `cards.js` reads with care.
export const cardText = (id) => attempt(() => localStorage.getItem(CARD + id), null);
export const keepCard = (id, text) => attempt(() => localStorage.setItem(CARD + id, text));

export const choose = (id) => attempt(() => { if (id) localStorage.setItem(CHOSEN, id); else localStorage.removeItem(CHOSEN); });

// The set-up that answers start from, or nothing.
export function chosen() {
  const id = attempt(() => localStorage.getItem(CHOSEN), null);
  const text = id && textOf(id);
  return text ? { id, text, name: nameOf(text) } : null;
}

// Calls back with the id of a set-up, or nothing, when another tab has changed what is kept.
export function onOtherTab(call) {
  listen("storage", ({ key }) => {
    if (key === null || key === CHOSEN) call();
    else if (key.startsWith(PREFIX)) call(key.slice(PREFIX.length));
  });
}
