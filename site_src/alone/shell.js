// The book in one file: shows its pages in place of one another, each with its scripts begun anew, and stands in for the host.
// The address says which page, and what it carries: field-book.html#/checks/cable-drop/?current=25+A
// The builder puts before it the modules of pages, together.js, NAME, what the file is called, and PACKS, the files of each
// pack as static/sw.js lists them; the packs themselves stand at the end of the file, as text.
const page = document.documentElement;
const onScreen = (id) => document.getElementById(id);
const isServed = /^https?:$/.test(location.protocol);
const home = new URL("./", isServed ? location.href : "file:///"); // under this what a reader keeps is kept
const address = isServed ? location.href.split("#")[0] : NAME; // never where the file lies on this phone
const linkTo = (path, text) => `#/${path}${text ? `?${text}` : ""}`;
const tops = new Map(); // how far down each entry of the history was, by its mark
let now; // the page on show: { path, text, main, calls, left, mark }

// What the address asks for; no path where it is a jump within the page.
function asked() {
  const [, path, text = ""] = /^#\/([^?#]*)[?#]?(.*)$/s.exec(location.hash || "#/") ?? [];
  return { path, text };
}

// What cannot be shown, and why: the file came to harm, or this browser runs no workers from it.

class Harmed extends Error {}

function giveUp(problem) {
  onScreen("not-whole").hidden = !(problem instanceof Harmed);
  if (onScreen("not-whole").hidden) delete page.dataset.runs;
  delete page.dataset.turning;
  throw problem;
}

// A file that broke off on its way lacks its end.
function expectWhole() {
  const isHere = ({ chars }, number) => onScreen(`pack-${number}`)?.textContent.length === chars;
  if (!PACKS.every(isHere)) giveUp(new Harmed());
}

// The files

const unpacking = new Map(); // by the number of the pack: a promise of its files by path, each { bytes, type }

function startWorker(parts, name) {
  const blob = URL.createObjectURL(new Blob(parts, { type: "text/javascript" }));
  const worker = new Worker(blob, { name });
  setTimeout(() => URL.revokeObjectURL(blob), 60_000); // some browsers read it late
  return worker;
}

async function unpack(number) {
  const block = onScreen(`pack-${number}`);
  const worker = startWorker([onScreen("unpacker").textContent], "unpacker");
  const found = await new Promise((resolve, reject) => {
    worker.onmessage = ({ data }) => resolve(data);
    worker.onerror = reject;
    worker.postMessage({ text: block.textContent, files: PACKS[number].files });
  });
  worker.terminate();
  block.remove();
  if (!found) throw new Harmed();
  return found;
}

function unpacked(number) {
  if (!unpacking.has(number)) unpacking.set(number, unpack(number).catch(giveUp));
  return unpacking.get(number);
}

const packOf = (path) => PACKS.findIndex(({ files }) => files.some((file) => file.path === path));

async function textOf(path) {
  const number = packOf(path);
  return number < 0 ? undefined : new TextDecoder().decode((await unpacked(number)).get(path).bytes);
}

// Every file of the engine, by its name.
async function engineFiles() {
  const isEngine = ({ files }) => files.some(({ path }) => path.includes("/engine/"));
  const found = await Promise.all(PACKS.flatMap((pack, number) => (isEngine(pack) ? [unpacked(number)] : [])));
  return new Map(found.flatMap((files) => [...files].map(([path, file]) => [path.split("/").at(-1), file])));
}

// A worker that runs Python. It begins when its files are unpacked; what it is told until then waits.
class EngineWorker {
  #worker;
  #isEnded = false;
  #waiting = [];

  constructor(name) {
    this.#begin(name).catch(() => this.onerror());
  }

  async #begin(name) {
    const files = await engineFiles();
    if (this.#isEnded) return;
    this.#worker = startWorker([files.get("alone.js").bytes], name);
    this.#worker.onmessage = (event) => this.onmessage(event);
    this.#worker.onerror = () => this.onerror();
    for (const each of [files, ...this.#waiting]) this.#worker.postMessage(each);
  }

  postMessage(data) {
    if (this.#worker) this.#worker.postMessage(data);
    else this.#waiting.push(data);
  }

  terminate() {
    this.#isEnded = true;
    this.#worker?.terminate();
  }
}

// What a page's scripts get in place of the scripts that stand on a host: see static/place.js, workers.js and book.js

const workers = { newWorker: (name) => new EngineWorker(name), keepsMemory: false };
const { sparingly } = together({})("sparing.js");
const shared = { "book.js": { settled: Promise.resolve("ready") }, "engine.js": together({ "workers.js": workers })("engine.js") };

// Scripts go on for a while after their page was left, as answers arrive: they then write into what is on no screen.
const placeOf = (shown) => ({
  home,
  linkTo,
  textOf,
  find: (id) => shown.main.querySelector(`#${CSS.escape(id)}`),
  all: (selector) => [...shown.main.querySelectorAll(selector)],
  carried: () => shown.text,
  carry: (text) => {
    shown.text = text;
    sparingly(() => { if (shown === now) history.replaceState(history.state, "", linkTo(shown.path, shown.text)); });
  },
  turnTo: (text) => { location.hash = linkTo(shown.path, text); },
  openAnew: () => open(shown.path, asked().text),
  asTold: (link = linkTo(shown.path, shown.text)) => address + link,
  toShare: (title, link) => (isServed ? { title, url: link } : { title, text: link }),
  listen: (kind, call) => {
    if (kind === "hashchange") shown.calls.push(call);
    else addEventListener(kind, call, { signal: shown.left.signal });
  },
});

// Showing a page

// A file that is no page is shown as its text.
function asPage(path, text) {
  const made = document.implementation.createHTMLDocument(path.split("/").at(-1));
  const [main, heading, content] = ["main", "h1", "pre"].map((tag) => made.createElement(tag));
  main.id = "main";
  heading.textContent = made.title;
  content.textContent = text;
  main.append(heading, content);
  made.body.append(main);
  return made;
}

function parsed(path, text) {
  return path && !path.endsWith("/") ? asPage(path, text) : new DOMParser().parseFromString(text, "text/html");
}

// Takes what belongs to a host's book out, and lets every link within the book lead to a page of this file.
function adopted(main, path) {
  for (const each of main.querySelectorAll('noscript, [data-held-in="site"]')) each.remove();
  for (const link of main.querySelectorAll("a[href]")) {
    const { protocol, pathname, hash } = new URL(link.getAttribute("href"), `file:///${path}`);
    if (protocol === "file:") link.setAttribute("href", linkTo(pathname.slice(1), hash.slice(1)));
  }
  return document.adoptNode(main);
}

// Returns whether it is on show; the reader may have gone on meanwhile.
async function open(path, text) {
  const isThere = packOf(path) >= 0;
  const content = await textOf(isThere ? path : "missing/");
  if (asked().path !== path) return false;
  const read = parsed(isThere ? path : "missing/", content);
  const script = [...read.scripts].map(({ src }) => src.split("/").at(-1)).find((name) => name !== "book.js");
  now.left.abort();
  const main = adopted(read.querySelector("main"), isThere ? path : "missing/");
  now.main.replaceWith(main);
  show({ path, text, main });
  document.title = read.title;
  const own = { ...shared, "place.js": placeOf(now) };
  if (script) queueMicrotask(() => together(own)(script)); // what goes wrong in it is its own affair, as on a host
  return true;
}

function show({ path, text, main }) {
  now = { path, text, main, calls: [], left: new AbortController(), mark: history.state?.mark };
}

// Where the reader stands on a page that has just come: told to a screen reader, and as far down as they were.
function arrive() {
  const heading = now.main.querySelector("h1");
  heading.tabIndex = -1;
  heading.focus({ preventScroll: true });
  scrollTo(0, tops.get(now.mark) ?? 0);
  jump();
}

function jump() {
  const place = now.text && !now.text.includes("=") && now.main.querySelector(`#${CSS.escape(now.text)}`);
  if (!place) return;
  place.tabIndex = -1;
  place.focus();
  place.scrollIntoView();
}

// The address has changed.
async function turn() {
  const { path, text } = asked();
  if (path === undefined) return history.replaceState(history.state, "", linkTo(now.path, now.text));
  tops.set(now.mark, scrollY);
  if (!history.state?.mark) history.replaceState({ mark: Date.now() }, "");
  if (path === now.path) {
    Object.assign(now, { text, mark: history.state.mark });
    jump();
    return now.calls.forEach((call) => call());
  }
  return await open(path, text) && arrive();
}

// A link that a reader puts in, of this book on a host or in a file: the address of its page here, or nothing.
function meant(link) {
  const [before, ...after] = link.trim().split("#");
  if (after[0]?.startsWith("/")) return `#${after.join("#")}`;
  const shown = before.replace(/index\.html$/, "");
  const paths = PACKS.flatMap(({ files }) => files.map(({ path }) => path)).filter((path) => path.endsWith("/"));
  const path = paths.filter((each) => shown.endsWith(`/${each}`)).sort((one, other) => other.length - one.length)[0];
  return path && linkTo(path, after.join("#"));
}

function openLink(event) {
  if (event.target.id !== "open-link") return;
  event.preventDefault();
  const found = meant(onScreen("link-in").value);
  onScreen("link-in-error").hidden = Boolean(found);
  if (found) location.hash = found;
}

async function begin() {
  expectWhole();
  history.scrollRestoration = "manual";
  history.replaceState({ mark: history.state?.mark ?? Date.now() }, "");
  addEventListener("hashchange", turn);
  addEventListener("submit", openLink);
  const { path, text } = asked();
  show({ path: "", text: path ? "" : text, main: document.querySelector("main") });
  if (path) await open(path, text);
  delete page.dataset.turning;
  jump();
  await unpacked(packOf("")); // the pages, before the first is asked for
}

page.dataset.runs = "";
if (asked().path) page.dataset.turning = "";
addEventListener("DOMContentLoaded", begin);
