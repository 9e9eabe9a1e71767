// Describing a vehicle, a few questions a screen. What is typed is kept at every change; the engine draws it and says what
// does not go together. The questions, their order and all words stand in the page.
import { settled } from "./book.js";
import { Cards } from "./cards.js";
import { engine } from "./engine.js";
import { whenIdle } from "./idle.js";
import * as store from "./keep.js";
import { showLook, showProblem } from "./look.js";
import { carried, carry, find, linkTo, listen, openAnew } from "./place.js";

const form = find("set-up");
const parts = [...form.querySelectorAll(".part")];
new Cards(engine); // makes the camp card anew once the typing has come to rest
const touched = new Set();
const given = new URLSearchParams(carried());
let typingIn = ""; // the field that is being typed in: its error waits until it is left
let id = given.get("id");
let lastKept = id && store.textOf(id); // what this page last read or wrote: if it is something else, another tab wrote
let unkept = false; // whether something was typed that this browser would not keep
let step = 0;

// Reading and writing the form

const boxes = (part) => [...part.querySelectorAll(".one")];
const control = (name) => form.elements.namedItem(name);

function addOne(part) {
  const number = boxes(part).length;
  const holder = document.createElement("div");
  holder.append(part.querySelector("template").content.cloneNode(true));
  holder.innerHTML = holder.innerHTML.replaceAll("__n__", number);
  part.querySelector(".ones").append(holder.firstElementChild);
  const add = part.querySelector("[data-add]");
  if (add) add.hidden = number + 1 >= Number(part.dataset.many);
  boxes(part).forEach((box, n, all) => {
    const which = box.querySelector(".which");
    if (which) which.textContent = all.length > 1 ? n + 1 : "";
  });
}

// Where the region says a quantity in another unit, a bare number takes that one, as it stands beside the field; one that came
// with a set-up keeps its own.
const withUnit = (text, unit) => unit && /^[-+−]?[\p{N}.,]+$/u.test(text) ? `${text} ${unit}` : text;

function entriesOf(box, key, number) {
  const names = [...new Set([...box.querySelectorAll("[name]")].map((each) => each.name))];
  const typed = names.map((name) => [name.split(".")[2], withUnit(control(name).value.trim(), control(name).dataset?.said) || standing(name)]);
  return Object.fromEntries(typed.filter(([, text]) => text));
}

// An entry came with the set-up. One for which there is no button is kept as it is, and its field says what is wrong.
function put(name, text) {
  const each = control(name);
  if (!each) return;
  touched.add(name);
  if (each instanceof HTMLInputElement) {
    each.value = withUnit(text, each.dataset.own);
    return;
  }
  const wanted = text.trim().toLowerCase();
  const meant = (button) => [button.value, ...button.dataset.also.split("|")].includes(wanted);
  const button = [...each].find(meant);
  if (button) button.checked = true;
  else each[0].closest(".choice").dataset.standing = text;
}

const standing = (name) => control(name)[0]?.closest?.(".choice").dataset.standing ?? "";

function content() {
  const made = { format: form.dataset.format, version: Number(form.dataset.version), name: find("set-up-name").value.trim() };
  for (const part of parts) {
    const all = boxes(part).map((box, number) => entriesOf(box, part.dataset.part, number));
    if (Number(part.dataset.many) > 1) {
      while (all.length && !Object.keys(all.at(-1)).length) all.pop();
      if (all.length) made[part.dataset.part] = all;
    } else if (all.length && Object.keys(all[0]).length) [made[part.dataset.part]] = all;
  }
  return made;
}

function fill(data) {
  find("set-up-name").value = data.name ?? "";
  for (const part of parts) {
    const key = part.dataset.part;
    if (!part.querySelector("template")) continue;
    part.querySelector(".ones").replaceChildren();
    const all = [data[key] ?? {}].flat();
    const count = Math.max(all.length, 1);
    for (let number = 0; number < count; number += 1) addOne(part);
    all.forEach((one, number) => {
      for (const [name, text] of Object.entries(one)) put(`${key}.${number}.${name}`, text);
    });
  }
  showAsked();
}

// Whether the form has a place for all that a kept set-up says. A newer edition's may say more, and one that came to harm
// says anything: written back from here, it would lose that.
function hasPlaceFor({ format, version, name = "", ...kept }) {
  const isOurs = format === form.dataset.format && version === Number(form.dataset.version) && typeof name === "string";
  return isOurs && Object.entries(kept).every(([key, all]) => {
    const part = parts.find((each) => each.dataset.part === key);
    return part && Array.isArray(all) === (Number(part.dataset.many) > 1) && [all].flat().every((one, number) =>
      Object.entries(one).every(([field, text]) => typeof text === "string" && control(`${key}.${number}.${field}`)));
  });
}

// A field that hangs on a choice is asked only where that choice holds; while it is unknown, the usual one counts.
function showAsked() {
  for (const field of form.querySelectorAll("[data-when]")) {
    const input = field.querySelector("[name]");
    const [part, number] = input.name.split(".");
    const choice = control(`${part}.${number}.${field.dataset.when}`).value;
    const holds = !choice || choice === "?" ? field.dataset.whenUsual : choice;
    field.hidden = !field.dataset.whenIs.split(" ").includes(holds);
  }
}

// Keeping

function keep() {
  const made = content();
  id ??= store.newId();
  if (lastKept !== null && store.textOf(id) !== lastKept) { // another tab has written: neither is lost
    find("other-tab").hidden = false;
    id = store.newId();
    lastKept = null;
    made.name = store.copyName(made.name, form.dataset);
    rename(made.name);
  }
  const text = JSON.stringify(made);
  unkept = !store.keep(id, text);
  find("store-refused").hidden = !unkept;
  if (unkept) return;
  lastKept = text;
  if (!store.chosen()) store.choose(id);
  toAddress(`id=${id}`);
}

// The reader may be typing in it, and goes on where they were.
function rename(name) {
  const box = find("set-up-name");
  const at = box.selectionStart;
  box.value = name;
  if (box === document.activeElement) box.setSelectionRange(at, at);
}

// Where what is typed is found again: on this device, or else in the address itself.
function toAddress(place) {
  carry(place);
  find("done").href = linkTo("set-ups/", place);
}

// Looking, one question at a time, and of those that wait only the newest

let asking = false;
let changed = false;

function showErrors(errors) {
  for (const note of form.querySelectorAll(".error")) {
    const name = note.id.slice(0, -"-error".length);
    const sentence = touched.has(name) && typingIn !== name ? errors[name] ?? "" : "";
    if (note.textContent !== sentence) {
      note.textContent = sentence;
      if (sentence && note.closest("details")) note.closest("details").open = true;
    }
    note.hidden = !sentence;
    const each = control(name);
    if (!(each instanceof HTMLInputElement)) continue;
    if (sentence) each.setAttribute("aria-invalid", "true");
    else each.removeAttribute("aria-invalid");
  }
}

async function look() {
  changed = true;
  if (asking) return;
  asking = true;
  await settled;
  while (changed) {
    changed = false;
    const reply = await engine.ask({ do: "look", set_up: JSON.stringify(content()) });
    showProblem(reply.error);
    if (reply.error) continue;
    showLook(reply);
    showErrors(reply.errors);
    if (unkept) toAddress(`set-up=${reply.link}`);
  }
  asking = false;
}

function change() {
  showAsked();
  keep();
  look();
}

// Steps

function go(to) {
  step = Math.min(Math.max(to, 0), parts.length - 1);
  parts.forEach((part, n) => { part.hidden = n !== step; });
  find("step").textContent = step + 1;
  find("back").hidden = step === 0;
  find("next").hidden = step === parts.length - 1;
}

function turn(by) {
  go(step + by);
  find("step-count").focus();
  find("step-count").scrollIntoView();
}

form.addEventListener("input", ({ target }) => {
  if (target.dataset.picks && target.value) {
    control(target.dataset.picks).value = target.value;
    target.value = "";
  }
  if (target.type === "radio") touched.add(target.name);
  else typingIn = target.name;
  change();
});

form.addEventListener("focusout", ({ target }) => {
  typingIn = "";
  if (target.name) touched.add(target.name);
  look();
});

form.addEventListener("click", ({ target }) => {
  if (target.dataset.unknown) {
    control(target.dataset.unknown).value = "?";
    change();
  }
  const part = target.closest(".part");
  if (target.dataset.add !== undefined) {
    addOne(part);
    showAsked();
    boxes(part).at(-1).querySelector("input").focus();
  }
  if (target.dataset.remove !== undefined) {
    const data = content();
    const gone = boxes(part).indexOf(target.closest(".one"));
    data[part.dataset.part]?.splice(gone, 1);
    fill(data);
    change();
    part.querySelector("[data-add]").focus();
  }
});

form.addEventListener("submit", (event) => event.preventDefault());
find("back").onclick = () => turn(-1);
find("next").onclick = () => turn(1);
find("store-refused").hidden = store.canKeep;

// A jump within the page must not cost the address; another set-up's address opens that one.
listen("hashchange", () => {
  if (carried().includes("=")) openAnew();
  else if (unkept) change();
  else if (lastKept) toAddress(`id=${id}`);
});

// What cannot be written back whole is left as it is, and what is typed is kept beside it.
function fillFromKept() {
  try {
    const data = JSON.parse(lastKept);
    fill(data);
    if (hasPlaceFor(data)) return;
  } catch {
    // damaged
  }
  fill({});
  touched.clear();
  id = null;
  lastKept = null;
  find("left-alone").hidden = false;
}

async function open() {
  if (lastKept) fillFromKept();
  else fill({});
  go(0);
  form.hidden = false;
  find("seen").hidden = false;
  if (lastKept) toAddress(`id=${id}`);
  else if (given.has("set-up")) {
    await settled;
    const reply = await engine.ask({ do: "open", link: given.get("set-up") });
    showProblem(reply.error);
    if (reply.error) return;
    fill(JSON.parse(reply.set_up));
    toAddress(`set-up=${reply.link}`);
  }
  look();
}

open();
settled.then(() => whenIdle(() => engine.start()));
