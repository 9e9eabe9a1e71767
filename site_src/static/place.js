// The place of a page's scripts: what stands in their page, and what its address carries after the #. The book in one file
// shows its pages in another way and gives them a place of its own (site_src/alone/shell.js): no other script of a page asks
// for the address, looks things up in the document, or listens to the window.
import { sparingly } from "./sparing.js";

export const home = new URL("../../", import.meta.url); // the book's own folder

export const find = (id) => document.getElementById(id);
export const all = (selector) => [...document.querySelectorAll(selector)];

let next; // what the address is to carry, while that waits to be written
addEventListener("hashchange", () => { next = undefined; }, { capture: true });

const addressWith = (text) => (text ? `#${text}` : location.pathname + location.search);

// What the address carries.
export const carried = () => next ?? location.hash.slice(1);

// Lets the address of this page carry something else, or nothing: the page stays.
export function carry(text) {
  if (text === carried()) return;
  next = text;
  sparingly(() => {
    history.replaceState(history.state, "", addressWith(next));
    next = undefined;
  });
}

// Turns to the same page with something else in its address.
export const turnTo = (text) => { location.hash = text; };

export const openAnew = () => location.reload();

// The address of a page of the book, by its path below the start, that carries something.
export const linkTo = (path, text) => `${new URL(path, home)}#${text}`;

// The address of this very page, and of another, as they are told to another phone.
export const asTold = (link = new URL(addressWith(carried()), location.href).href) => link;

// What is handed to the phone's own way of sharing.
export const toShare = (title, link) => ({ title, url: link });

// Listens to the window while the page is shown.
export const listen = (kind, call) => addEventListener(kind, call);

// The text of a file of the book.
export const textOf = async (path) => (await fetch(new URL(path, home))).text();
