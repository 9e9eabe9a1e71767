// The page of all set-ups: what is kept, and a look at one, which may have come by link, file or demo. A look never
// changes what is kept; only "keep" does.
import { settled } from "./book.js";
import { Cards, showCard } from "./cards.js";
import { engine } from "./engine.js";
import { whenIdle } from "./idle.js";
import * as store from "./keep.js";
import { showLook, showProblem } from "./look.js";
import { all, asTold, carried, carry, find, linkTo, listen, textOf, toShare } from "./place.js";

const LARGEST_FILE = 1_000_000; // bytes that are read of a file; the engine says of far fewer that they are too many
const cards = new Cards(engine);
let open = null; // the look that is shown, with the id it is kept under, if it is
let deleted = null;

async function ask(request) {
  await settled;
  return engine.ask(request);
}

// What is damaged is copied as it is.
function copyOf(text) {
  try {
    const data = JSON.parse(text);
    return JSON.stringify({ ...data, name: store.copyName(data.name ?? "", find("kept").dataset) });
  } catch {
    return text;
  }
}

// The list of what is kept

// Keeps a set-up, and says so where the browser refuses.
function keep(id, text) {
  const isKept = store.keep(id, text);
  find("store-refused").hidden = isKept;
  if (!isKept) find("store-refused").scrollIntoView({ block: "center" });
  return isKept;
}

function fill(item, { id, text, name }) {
  const isChosen = store.chosen()?.id === id;
  if (name) item.querySelector("h3").textContent = name;
  item.querySelector(".chosen").hidden = !isChosen;
  item.querySelector('[data-do="choose"]').hidden = isChosen;
  item.querySelector('[data-do="edit"]').href = linkTo("set-ups/edit/", `id=${id}`);
  item.querySelector("li").dataset.id = id;
  const actions = {
    choose: () => { store.choose(id); list(); },
    open: () => look({ do: "look", set_up: text }, id),
    copy: () => { keep(store.newId(), copyOf(text)); list(); },
    delete: () => remove(id, text),
  };
  for (const [name_, action] of Object.entries(actions)) item.querySelector(`[data-do="${name_}"]`).onclick = action;
}

function list() {
  const kept = store.kept();
  find("none-kept").hidden = kept.length > 0;
  find("kept").replaceChildren(...kept.map((one) => {
    const item = find("kept-item").content.cloneNode(true);
    fill(item, one);
    return item;
  }));
  find("compare").hidden = kept.length < 2;
  const noName = find("kept-item").content.querySelector("h3").textContent;
  for (const side of ["one", "other"]) {
    const before = find(side).value;
    find(side).replaceChildren(...kept.map(({ id, name }) => new Option(name || noName, id)));
    if (kept.some(({ id }) => id === before)) find(side).value = before;
    else if (side === "other" && kept.length > 1) find(side).selectedIndex = 1;
  }
  compare();
}

function remove(id, text) {
  deleted = { id, text, chosen: store.chosen()?.id === id };
  store.drop(id);
  if (deleted.chosen) store.choose(null);
  if (open?.id === id) showWhetherKept(null);
  find("undo").hidden = false;
  list();
}

function bringBack() {
  keep(deleted.id, deleted.text);
  if (deleted.chosen) store.choose(deleted.id);
  find("undo").hidden = true;
  list();
}

async function compare() {
  if (find("compare").hidden) return;
  const texts = ["one", "other"].map((side) => store.textOf(find(side).value)).filter(Boolean);
  if (texts.length < 2) return;
  const { table, error } = await ask({ do: "compare", set_ups: texts });
  if (table) find("comparison").innerHTML = table;
  else find("comparison").textContent = error;
}

// A look at one

async function look(request, id = null) {
  showCard(id);
  const reply = await ask(request);
  showProblem(reply.error);
  find("opened").hidden = Boolean(reply.error);
  if (reply.error) return;
  open = reply;
  find("opened-name").textContent = reply.name;
  showWhetherKept(id);
  find("copied").hidden = true;
  find("code").hidden = true;
  find("link-text").hidden = true;
  find("share").hidden = !navigator.share;
  showLook(reply);
  find("opened-name").focus();
  find("opened").scrollIntoView();
}

function showWhetherKept(id) {
  open.id = id;
  find("keep").hidden = Boolean(id);
  find("is-kept").hidden = true;
}

function keepOpen() {
  const id = store.newId();
  if (!keep(id, open.set_up)) return;
  if (!store.chosen()) store.choose(id);
  showWhetherKept(id);
  find("is-kept").hidden = false;
  carry("");
  list();
}

const address = () => asTold(linkTo("set-ups/", `set-up=${open.link}`));

async function showCode() {
  const { code, error } = await ask({ do: "code", address: address() });
  showProblem(error);
  find("code").firstElementChild.innerHTML = code ?? "";
  find("code").hidden = !code;
}

async function copyLink() {
  find("link").value = address();
  find("link-text").hidden = false;
  find("link").select();
  await navigator.clipboard?.writeText(address()).then(() => { find("copied").hidden = false; }, () => {});
}

function saveFile() {
  const anchor = document.createElement("a");
  anchor.href = URL.createObjectURL(new Blob([open.set_up], { type: "application/json" }));
  anchor.download = `${open.name.replace(/[^\p{L}\p{N}]+/gu, "-")}.json`;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(anchor.href), 10_000);
}

async function openFile({ target }) {
  const [file] = target.files;
  if (file) await look({ do: "look", set_up: await file.slice(0, LARGEST_FILE).text() });
  target.value = "";
}

async function fromAddress() {
  const given = new URLSearchParams(carried());
  if (given.has("set-up")) return look({ do: "open", link: given.get("set-up") });
  if (given.has("demo")) {
    const [demo] = all(`[data-demo="${CSS.escape(given.get("demo"))}"]`);
    if (demo) return look({ do: "look", set_up: await textOf(`set-ups/${demo.dataset.demo}.json`) });
  }
  const text = given.has("id") && store.textOf(given.get("id"));
  return text ? look({ do: "look", set_up: text }, given.get("id")) : undefined;
}

find("keep").onclick = keepOpen;
find("close").onclick = () => { find("opened").hidden = true; showCard(null); carry(""); };
find("share").onclick = () => navigator.share(toShare(open.name, address())).catch(() => {});
find("copy").onclick = copyLink;
find("show-code").onclick = showCode;
find("save-file").onclick = saveFile;
find("import").onchange = openFile;
find("undo").querySelector("button").onclick = bringBack;
find("one").onchange = compare;
find("other").onchange = compare;
listen("hashchange", fromAddress);
store.onOtherTab(list);

find("store-refused").hidden = store.canKeep;
list();
find("all").hidden = false;
fromAddress();
settled.then(() => whenIdle(() => {
  engine.start();
  cards.soon();
}));
