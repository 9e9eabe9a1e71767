// Describing a vehicle, a few questions a screen. What is typed is kept at every change; the engine draws it and says what
// does not go together. The questions, their order and all words stand in the page.
import { settled } from "./book.js";
import { Engine } from "./engine.js";
import * as store from "./keep.js";
import { showLook } from "./look.js";

const form = document.getElementById("set-up");
const parts = [...form.querySelectorAll(".part")];
const engine = new Engine();
const find = (id) => document.getElementById(id);
const touched = new Set();
let id = new URLSearchParams(location.hash.slice(1)).get("id");
let lastKept = id && store.textOf(id); // what this page last read or wrote: if it is something else, another tab wrote
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

function entriesOf(box, key, number) {
  const names = [...new Set([...box.querySelectorAll("[name]")].map((each) => each.name))];
  const given = names.map((name) => [name.split(".")[2], control(name).value.trim()]);
  return Object.fromEntries(given.filter(([, text]) => text));
}

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
      for (const [name, text] of Object.entries(one)) {
        const each = control(`${key}.${number}.${name}`);
        if (each) each.value = text;
      }
    });
  }
  showAsked();
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
  if (!store.canKeep) return JSON.stringify(made);
  id ??= store.newId();
  if (store.textOf(id) !== lastKept && lastKept !== null) { // another tab has written: neither is lost
    find("other-tab").hidden = false;
    id = store.newId();
    made.name += form.dataset.copyMark;
    find("set-up-name").value = made.name;
  }
  const text = JSON.stringify(made);
  if (store.keep(id, text)) lastKept = text;
  else find("store-refused").hidden = false;
  if (!store.chosen()) store.choose(id);
  history.replaceState(null, "", `#id=${id}`);
  find("done").href = `${find("done").href.split("#")[0]}#id=${id}`;
  return text;
}

// Looking, one question at a time, and of those that wait only the newest

let asking = false;
let changed = false;

function showErrors(errors) {
  for (const note of form.querySelectorAll(".error")) {
    const name = note.id.slice(0, -"-error".length);
    const sentence = touched.has(name) ? errors[name] ?? "" : "";
    if (note.textContent !== sentence) note.textContent = sentence;
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
    if (!reply.error) {
      showLook(reply);
      showErrors(reply.errors);
    }
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
  if (target.dataset.picks) {
    control(target.dataset.picks).value = target.value;
    target.value = "";
  }
  if (target.type === "radio") touched.add(target.name);
  change();
});

form.addEventListener("focusout", ({ target }) => {
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
  }
});

form.addEventListener("submit", (event) => event.preventDefault());
find("back").onclick = () => turn(-1);
find("next").onclick = () => turn(1);
find("store-refused").hidden = store.canKeep;

try {
  fill(lastKept ? JSON.parse(lastKept) : {});
} catch {
  fill({});
}
go(0);
look();
settled.then(() => (window.requestIdleCallback ?? setTimeout)(() => engine.start()));
