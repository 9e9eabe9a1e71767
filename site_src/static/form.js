// A check's page: the form's entries go to the engine at every change, the answer comes into the page, and the address
// keeps both. What is said comes from the engine or stands in the page; no wording and no number of the trade is here.
import { settled } from "./book.js";
import { Cards, showCard } from "./cards.js";
import { engine } from "./engine.js";
import { Finder } from "./finder.js";
import { Start } from "./from-set-up.js";
import { whenIdle } from "./idle.js";
import { textOf } from "./keep.js";
import { Legs } from "./legs.js";
import { asTold, carried, carry, find, listen, toShare } from "./place.js";
import { readPlots } from "./plot-cursor.js";
import { Sessions } from "./sessions.js";
import { Sheet } from "./sheet.js";

const LONGEST_LINK_ENTRY = 200; // characters taken of one entry in a link, where its control says nothing else
const QUICK = 300; // milliseconds after which it is said that something is being worked out
const form = find("check");
const fields = [...form.querySelectorAll("[data-field]")].map((box) => box.dataset.field);
const control = (name) => form.elements.namedItem(name);
const unitList = (name) => form.querySelector(`[data-unit-of="${name}"]`);

const touched = new Set(); // fields that were left once: their errors may be shown
let typingIn = ""; // the field that is being typed in: its error waits until it is left
const refused = new Map(); // entries of a link that a control cannot hold, such as an option that is not there
const example = { answer: find("answer").innerHTML, pictures: find("pictures").innerHTML, working: find("working").innerHTML };
if (find("guided")) example.guided = find("guided").innerHTML;
const standingMarkup = { ...example };
const declared = ({ options, defaultValue }) => options ? [...options].find((o) => o.defaultSelected)?.value ?? options[0].value : defaultValue;
const startingChoice = Object.fromEntries(fields.map((name) => [name, declared(control(name))]));
const standing = { ...startingChoice }; // what stands in a control that the reader has not changed
const trips = [...form.querySelectorAll("[data-legs]")].map((box) => new Legs(box, control(box.dataset.legs)));
const guides = find("guided")?.dataset.guides; // the field that is filled reading by reading
const finder = guides && new Finder(control(guides), (text, more) => propose(guides, text, more));
const filled = find("pictures").dataset.fills; // the field that holds the readings of a sheet
const sheet = filled && new Sheet(find("pictures"), control(filled), (text, more) => propose(filled, text, more));
const sessions = find("sessions") && new Sessions(find("sessions"));
const start = new Start(() => { takeStarts({}); toAddress(); showKept(); ask(); });
const cards = new Cards(engine);

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
  if (shown) note.closest("details")?.setAttribute("open", "");
  if (shown) control(name).setAttribute("aria-invalid", "true");
  else control(name).removeAttribute("aria-invalid");
}

// A list that says the same is left as it is: a finger may be on it.
function showMissing(names) {
  if (find("missing").dataset.names === names.join(" ")) return;
  find("missing").dataset.names = names.join(" ");
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

// What stands there already is left as it is: a finger may be on it.
function put(id, markup) {
  if (standingMarkup[id] !== markup) find(id).innerHTML = markup;
  standingMarkup[id] = markup;
}

// The card that is kept beside the set-up stands in for the worked example until the answer is there.
function showKept() {
  if (find("kept-card")) find("answer").closest("section").hidden = showCard(start.id);
}

// Keeps what was read at the vehicle, to be gone on with after the page was closed; with no reading it is over.
function remember(headline) {
  if (entry(guides ?? filled)) sessions.keep(start.vehicle, headline);
  else sessions.leave();
}

// One of these: the worked example, what is still missing, the answer, or nothing, as it was stopped.
function show(which, { answer = "", pictures = "", working = "", guided, headline = "", level = "" } = {}) {
  find("story").hidden = which !== "example";
  find("heading-example").hidden = which !== "example";
  find("heading-answer").hidden = which === "example";
  find("waiting").hidden = which !== "missing";
  if (sheet) find("begin").hidden = which !== "example";
  const bringBack = sheet?.hold();
  put("answer", answer);
  put("pictures", pictures);
  put("working", working);
  if (sessions && ["answer", "example"].includes(which)) remember(headline);
  bringBack?.();
  if (guided !== undefined) put("guided", guided);
  find("strip").hidden = which !== "answer" || Boolean(finder); // a search has its entry there
  find("strip").dataset.level = level;
  find("strip").firstElementChild.textContent = headline;
  find("share").hidden = which !== "answer";
  if (find("kept-card") && which !== "example") {
    find("kept-card").hidden = true;
    find("answer").closest("section").hidden = false;
  }
}

function showReply(reply) {
  if (reply.stopped) {
    find("stopped").firstElementChild.hidden = false;
    return show("stopped");
  }
  if (reply.error) { // the set-up cannot be used: its sentence is shown, and the check is asked without it
    start.refuse(reply.error);
    takeStarts({});
    changed = true;
    return undefined;
  }
  const errors = reply.errors ?? {};
  for (const name of fields) showError(name, errors[name]);
  start.show(reply, (request) => engine.ask(request));
  for (const trip of trips) trip.understood(reply.plain);
  sheet?.understood(reply.plain);
  takeStarts(start.texts);
  toAddress();
  if (!reply.errors) return show("answer", reply);
  showMissing(fields.filter((name) => errors[name]));
  return show("missing");
}

// Asking: one question at a time, and of those that wait only the newest

let asking = false;
let changed = false;
const last = {}; // the question that was answered last, and its reply: leaving a field asks again, mostly the same

async function ask() {
  changed = true;
  if (asking) return;
  asking = true;
  await settled;
  while (changed) {
    changed = false;
    const inputs = entries();
    const nothingGiven = !Object.keys(inputs).length && !touched.size && !start.isSet;
    if (nothingGiven) show("example", example);
    else showReply(await replyTo({ check: form.dataset.check, inputs, ...start.request }));
  }
  asking = false;
}

// Asks with another text of one field, which is taken over, as the engine says it, where it can be read; `more` of the request
// is the finder's or the sheet's.
async function propose(name, text, more) {
  await settled;
  const inputs = { ...entries(), [name]: text };
  const reply = await patiently({ check: form.dataset.check, inputs, ...more, ...start.request });
  if (reply.answer) {
    refused.delete(name);
    control(name).value = reply.plain?.[name] ?? text;
    touched.add(name);
    showReply(reply);
  }
  return reply;
}

async function replyTo(request) {
  const question = JSON.stringify(request);
  if (last.question !== question) {
    const reply = await patiently(request);
    if (reply.stopped) return reply;
    Object.assign(last, { question, reply });
  }
  return last.reply;
}

// Asks, and where that takes long says how far it is and offers to stop it.
async function patiently(request) {
  if (!find("at-work")) return engine.ask(request);
  find("stopped").firstElementChild.hidden = true;
  const slow = setTimeout(() => { delete find("at-work").dataset.idle; }, QUICK);
  const reply = await engine.ask(request, { progress: showShare });
  clearTimeout(slow);
  find("at-work").dataset.idle = "";
  find("at-work-share").removeAttribute("value");
  find("at-work-words").textContent = "";
  return reply;
}

function showShare({ share, words }) {
  find("at-work-share").value = share;
  find("at-work-words").textContent = words;
}

// The address keeps the form. With a set-up it holds all that the answer rests on, for a phone that has not that set-up: what
// the fields took from it, or the whole of it; "from" and "own" say which set-up it was, and which entries are the reader's
// own, for the phone that has.

function toAddress() {
  const own = entries();
  const inputs = new URLSearchParams(start.link ? own : { ...start.texts, ...own });
  if (start.link) inputs.set("set-up", start.link);
  if (start.id) {
    inputs.set("from", start.id);
    inputs.set("own", Object.keys(own).join(" "));
  }
  carry(inputs.toString());
}

function fromAddress() {
  const given = new URLSearchParams(carried());
  const isKeptHere = textOf(given.get("from"));
  if (given.has("set-up") && !isKeptHere) start.useLink(given.get("set-up"));
  else start.use(isKeptHere ? given.get("from") : null);
  takeStarts({});
  if (isKeptHere) for (const name of fields) if (!given.get("own")?.split(" ").includes(name)) given.delete(name);
  for (const name of fields) {
    const longest = control(name).maxLength > 0 ? control(name).maxLength : LONGEST_LINK_ENTRY;
    const text = given.get(name)?.slice(0, longest);
    refused.delete(name);
    if (unitList(name)) unitList(name).value = text === undefined ? unitList(name).options[0].value : ""; // a bare number's own
    control(name).value = startingChoice[name];
    if (text === undefined) continue;
    touched.add(name);
    if (control(name).tagName !== "SELECT") {
      control(name).value = text;
      moveUnit(name);
    } else if (!choose(control(name), text)) refused.set(name, text);
  }
  for (const trip of trips) trip.refresh();
}

const keepsForm = () => carried().includes("=");

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
  const name = target.name || target.closest("[data-legs]")?.dataset.legs;
  if (!name) return;
  const asItStood = !entry(name) || entry(name) === standing[name]; // a list that was only passed through says nothing
  if (asItStood && !Object.keys(entries()).length) return;
  touched.add(name);
  ask();
});

form.addEventListener("submit", (event) => event.preventDefault());

form.addEventListener("reset", () => setTimeout(() => {
  touched.clear();
  refused.clear();
  for (const name of fields) showError(name, "");
  Object.assign(standing, startingChoice); // which is what a reset has brought back
  for (const trip of trips) trip.refresh();
  toAddress();
  ask();
}));

find("share").addEventListener("click", async () => {
  if (navigator.share) return navigator.share(toShare(document.title, asTold())).catch(() => {});
  await navigator.clipboard?.writeText(asTold());
  find("shared").firstElementChild.hidden = false;
  return setTimeout(() => { find("shared").firstElementChild.hidden = true; }, 4000);
});

// A jump within the page, such as to the answer, must not cost what is typed.
listen("hashchange", () => {
  if (!keepsForm()) return toAddress();
  fromAddress();
  return ask();
});

find("stop")?.addEventListener("click", () => {
  changed = false;
  engine.stop();
});
find("again")?.addEventListener("click", () => ask());
readPlots(find("pictures"));

if (find("print")) {
  find("print").hidden = false;
  find("print").addEventListener("click", () => print());
}

find("begin")?.addEventListener("click", async () => {
  touched.add(filled);
  await ask();
  sheet.begin();
});

find("strip").addEventListener("click", (event) => {
  event.preventDefault();
  find("answer-heading").scrollIntoView();
});

const typedEarly = !keepsForm() && Object.keys(entries()).length > 0; // before this script was there
if (keepsForm()) fromAddress();
else start.useChosen();
if (typedEarly) toAddress();
showKept();
if (keepsForm() || start.isSet) ask();
else if (sheet) find("begin").hidden = false;
settled.then(() => whenIdle(() => {
  engine.start();
  if (find("kept-card")) cards.soon();
}));
