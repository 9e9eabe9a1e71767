// A check's page: the form's entries go to the engine at every change, the answer comes into the page, and the address
// keeps both. What is said comes from the engine or stands in the page; no wording and no number of the trade is here.
import { settled } from "./book.js";
import { Engine } from "./engine.js";
import { Start } from "./from-set-up.js";
import { textOf } from "./keep.js";

const LONGEST_LINK_ENTRY = 200; // characters taken of one entry in a link
const form = document.getElementById("check");
const fields = [...form.querySelectorAll("[data-field]")].map((box) => box.dataset.field);
const engine = new Engine();
const find = (id) => document.getElementById(id);
const control = (name) => form.elements.namedItem(name);
const unitList = (name) => form.querySelector(`[data-unit-of="${name}"]`);

const touched = new Set(); // fields that were left once: their errors may be shown
let typingIn = ""; // the field that is being typed in: its error waits until it is left
const refused = new Map(); // entries of a link that a control cannot hold, such as an option that is not there
const example = { answer: find("answer").innerHTML, pictures: find("pictures").innerHTML, working: find("working").innerHTML };
const declared = ({ options, defaultValue }) => options ? [...options].find((o) => o.defaultSelected)?.value ?? options[0].value : defaultValue;
const startingChoice = Object.fromEntries(fields.map((name) => [name, declared(control(name))]));
const standing = { ...startingChoice }; // what stands in a control that the reader has not changed
const start = new Start(() => { takeStarts({}); toAddress(); ask(); });

// Reading the form

function entry(name) {
  if (refused.has(name)) return refused.get(name);
  const typed = control(name).value.trim();
  const unit = unitList(name)?.value;
  return unit && /[\p{N}.,]$/u.test(typed) ? `${typed} ${unit}` : typed;
}

function entries() {
  const given = fields.map((name) => [name, entry(name)]);
  return Object.fromEntries(given.filter(([name, text]) => text !== "" && text !== standing[name]));
}

// A list that the reader has not touched shows what the set-up says.
function takeStarts(texts) {
  for (const name of fields) {
    const list = control(name);
    if (list.tagName !== "SELECT") continue;
    const untouched = list.value === standing[name];
    standing[name] = texts[name] ?? startingChoice[name];
    if (untouched) list.value = standing[name];
  }
}

// A unit typed after the number is chosen in the list beside it, so that the two never say different things.
function moveUnit(name) {
  const [, number, unit] = /^([-+−]?[\p{N}.,]+)\s*(\S.*)$/u.exec(control(name).value.trim()) ?? [];
  const chosen = [...(unitList(name)?.options ?? [])].find((option) => [option.dataset.unit, option.text].includes(unit));
  if (!chosen) return;
  chosen.selected = true;
  control(name).value = number;
}

// The option that an entry of a link means: by its key, its label, or another spelling that the command line takes.
function choose(list, text) {
  const wanted = text.trim().toLowerCase();
  const meant = (option) => [option.value, option.text.toLowerCase(), ...option.dataset.also.split("|")].includes(wanted);
  const chosen = [...list.options].find(meant);
  if (chosen) chosen.selected = true;
  return Boolean(chosen);
}

// Showing what came of it

function showError(name, sentence) {
  const note = find(`${name}-error`);
  const shown = sentence && touched.has(name) && typingIn !== name ? sentence : "";
  if (note.textContent !== shown) note.textContent = shown;
  note.hidden = !shown;
  if (shown) control(name).setAttribute("aria-invalid", "true");
  else control(name).removeAttribute("aria-invalid");
}

function showMissing(names) {
  find("missing").replaceChildren(...names.map((name) => {
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = `#${name}`;
    link.textContent = form.querySelector(`label[for="${name}"]`).firstChild.textContent;
    link.onclick = (event) => { event.preventDefault(); control(name).focus(); };
    item.append(link);
    return item;
  }));
}

// One of three: the worked example, what is still missing, or the answer.
function show(which, { answer = "", pictures = "", working = "", headline = "", level = "" } = {}) {
  find("story").hidden = which !== "example";
  find("heading-example").hidden = which !== "example";
  find("heading-answer").hidden = which === "example";
  find("waiting").hidden = which !== "missing";
  find("answer").innerHTML = answer;
  find("pictures").innerHTML = pictures;
  find("working").innerHTML = working;
  find("strip").hidden = which !== "answer";
  find("strip").dataset.level = level;
  find("strip").firstElementChild.textContent = headline;
  find("share").hidden = which !== "answer";
}

function showReply(reply) {
  if (reply.error) { // the set-up cannot be used: its sentence is shown, and the check is asked without it
    start.refuse(reply.error);
    takeStarts({});
    changed = true;
    return undefined;
  }
  const errors = reply.errors ?? {};
  for (const name of fields) showError(name, errors[name]);
  start.show(reply, (request) => engine.ask(request));
  takeStarts(start.texts);
  toAddress();
  if (!reply.errors) return show("answer", reply);
  showMissing(fields.filter((name) => errors[name]));
  return show("missing");
}

// Asking: one question at a time, and of those that wait only the newest

let asking = false;
let changed = false;

async function ask() {
  changed = true;
  if (asking) return;
  asking = true;
  await settled;
  while (changed) {
    changed = false;
    const inputs = entries();
    const nothingGiven = !Object.keys(inputs).length && !touched.size && !start.id;
    if (nothingGiven) show("example", example);
    else showReply(await engine.ask({ check: form.dataset.check, inputs, set_up: start.text }));
  }
  asking = false;
}

// The address keeps the form. With a set-up it holds all that the answer rests on, for a phone that has not that set-up;
// "from" and "own" say which set-up it was, and which entries are the reader's own, for the phone that has.

function toAddress() {
  const own = entries();
  const inputs = new URLSearchParams({ ...start.texts, ...own });
  if (start.id) {
    inputs.set("from", start.id);
    inputs.set("own", Object.keys(own).join(" "));
  }
  const text = inputs.toString();
  history.replaceState(null, "", text ? `#${text}` : location.pathname + location.search);
}

function fromAddress() {
  const given = new URLSearchParams(location.hash.slice(1));
  const isKeptHere = textOf(given.get("from"));
  start.use(isKeptHere ? given.get("from") : null);
  takeStarts({});
  if (isKeptHere) for (const name of fields) if (!given.get("own")?.split(" ").includes(name)) given.delete(name);
  for (const name of fields) {
    const text = given.get(name)?.slice(0, LONGEST_LINK_ENTRY);
    refused.delete(name);
    if (unitList(name)) unitList(name).selectedIndex = 0;
    control(name).value = startingChoice[name];
    if (text === undefined) continue;
    touched.add(name);
    if (control(name).tagName !== "SELECT") {
      control(name).value = text;
      moveUnit(name);
    } else if (!choose(control(name), text)) refused.set(name, text);
  }
}

const keepsForm = () => location.hash.includes("=");

// Events

form.addEventListener("input", ({ target }) => {
  const name = target.dataset.unitOf ?? target.dataset.picks ?? target.name;
  if (target.dataset.picks && target.value) {
    control(name).value = target.value;
    target.value = "";
  }
  if (target.tagName === "SELECT") touched.add(name);
  else {
    typingIn = name;
    showError(name, "");
  }
  if (!target.dataset.unitOf) refused.delete(name);
  toAddress();
  ask();
});

form.addEventListener("change", ({ target }) => { if (target.name) moveUnit(target.name); });

form.addEventListener("focusin", () => settled.then(() => engine.start()), { once: true });

form.addEventListener("focusout", ({ target }) => {
  typingIn = "";
  if (!target.name || (!entry(target.name) && !Object.keys(entries()).length)) return;
  touched.add(target.name);
  ask();
});

form.addEventListener("submit", (event) => event.preventDefault());

form.addEventListener("reset", () => setTimeout(() => {
  touched.clear();
  refused.clear();
  for (const name of fields) showError(name, "");
  Object.assign(standing, startingChoice); // which is what a reset has brought back
  toAddress();
  ask();
}));

find("share").addEventListener("click", async () => {
  if (navigator.share) return navigator.share({ title: document.title, url: location.href }).catch(() => {});
  await navigator.clipboard?.writeText(location.href);
  find("shared").firstElementChild.hidden = false;
  return setTimeout(() => { find("shared").firstElementChild.hidden = true; }, 4000);
});

// A jump within the page, such as to the answer, must not cost what is typed.
addEventListener("hashchange", () => {
  if (!keepsForm()) return toAddress();
  fromAddress();
  return ask();
});

find("strip").addEventListener("click", (event) => {
  event.preventDefault();
  find("answer-heading").scrollIntoView();
});

const typedEarly = !keepsForm() && Object.keys(entries()).length > 0; // before this script was there
if (keepsForm()) fromAddress();
else start.useChosen();
if (typedEarly) toAddress();
if (keepsForm() || start.id) ask();
settled.then(() => (window.requestIdleCallback ?? setTimeout)(() => engine.start()));
