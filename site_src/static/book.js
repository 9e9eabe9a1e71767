// Every page: keep the whole book on this phone, say how far that is, and offer a newer edition without forcing it.
// What it says stands in the page; this script only sets <html data-offline="saving|ready|unavailable"> with data-why, and
// data-not-updated with why a newer edition could not be saved.

const page = document.documentElement;
const home = new URL("../../", import.meta.url);
const workers = navigator.serviceWorker;
const LONGEST_HANDOVER = 2000; // milliseconds
const LONGEST_SCRIPT = 10_000; // milliseconds
const SIX_HOURS = 6 * 60 * 60 * 1000;

let registration;
// Whether the reader wants the new edition now. Which edition is left for it stands beside the address, so that a page that
// is opened anew knows it, and is the old one still.
let agreed = history.state?.leaves === page.dataset.edition;
let pause = 30_000; // milliseconds until what failed is tried again; longer each time
let again;

let settle;
// Settles when the book is saved, or cannot be: until then the engine's files are on their way, and are not fetched twice.
export const settled = new Promise((resolve) => { settle = resolve; });

function show(state, why) {
  page.dataset.offline = state;
  if (why) page.dataset.why = why;
  else delete page.dataset.why;
  if (state !== "saving") settle(state);
}

function showProgress({ done, total }) {
  if (page.dataset.offline === "ready") return;
  show("saving");
  document.getElementById("saved-percent").textContent = Math.floor((100 * done) / total);
  document.getElementById("saved-total").textContent = (total / 1e6).toFixed(1);
  document.getElementById("saved-share").hidden = false;
}

function showFailure(why) {
  if (page.dataset.offline === "ready" && why !== "lost") page.dataset.notUpdated = why;
  else show("unavailable", why);
  goOnLater();
}

// The worker's words: a closed list.
function hear({ data }) {
  if (data.kind === "progress") showProgress(data);
  if (data.kind === "failed") showFailure(data.why);
  if (data.kind !== "whole") return;
  show("ready");
  if (data.edition === page.dataset.edition) return;
  if (agreed) arrive();
  else if (workers.controller) offer();
}

// What was agreed to is done; the host may go back to the edition that was left, which then is left again only if asked.
function forget() {
  if (history.state?.leaves) history.replaceState({ ...history.state, leaves: undefined }, "");
}

// The new edition may begin to serve while this page is being opened, which then has not heard of it.
function arrive() {
  forget(); // once: the page that comes is the new one
  location.reload();
}

// Asks the worker that serves whether the saved book is whole; it answers "whole", or fetches what is missing.
function look() {
  registration.active?.postMessage({ kind: "look" });
}

// What failed goes on from where it stopped: after a while, when the signal is back, or when the page is looked at again.
function goOnLater() {
  clearTimeout(again);
  again = setTimeout(goOn, pause);
}

function goOn() {
  if (page.dataset.offline !== "unavailable" && !page.dataset.notUpdated) return;
  pause *= 2;
  keep();
}

// The newer edition

function offer() {
  delete page.dataset.notUpdated;
  document.getElementById("update").hidden = false;
  document.getElementById("update-now").onclick = takeOver;
}

// Chromium never lets the new worker take over from one that is answering a page just then, such as an engine that starts
// (seen in 156; asking again does not help). Opening the page anew ends that; it may still be answered by the old one.
function takeOver() {
  if (!registration.waiting) return location.reload();
  agreed = true;
  registration.waiting.postMessage({ kind: "take-over" });
  setTimeout(() => {
    history.replaceState({ ...history.state, leaves: page.dataset.edition }, "");
    location.reload();
  }, LONGEST_HANDOVER);
}

// A script of a saved page that does not come all the same (seen in Chromium on a busy machine, rarely): the page is opened
// anew, once.
async function expectScripts() {
  const others = [...document.scripts].filter(({ type, src }) => type === "module" && src !== import.meta.url);
  const late = new Promise((_, refuse) => setTimeout(refuse, LONGEST_SCRIPT));
  try {
    await Promise.race([Promise.all(others.map(({ src }) => import(src))), late]);
  } catch {
    if (!workers?.controller || history.state?.anew) return;
    history.replaceState({ ...history.state, anew: true }, "");
    location.reload();
  }
}

function watch(next) {
  if (!next) return;
  let isWhole = next.state === "installed";
  next.addEventListener("statechange", () => {
    if (next.state === "installed") {
      isWhole = true;
      if (registration.active) offer();
    }
    if (next.state === "activated") look();
    if (next.state === "redundant" && !isWhole) showFailure(page.dataset.notUpdated ?? page.dataset.why ?? "download");
  });
}

// Where the reader agreed, the page is opened anew when the new edition serves. A page of the old edition in another tab
// goes on with its own files, and offers the new one.
function follow() {
  if (registration.waiting && workers.controller) offer();
  watch(registration.installing ?? registration.waiting);
  registration.addEventListener("updatefound", () => watch(registration.installing));
}

workers?.addEventListener("controllerchange", () => {
  if (agreed) location.reload();
  else look();
});

function lookAgain() {
  let looked = Date.now();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible" || !registration) return;
    goOn();
    look();
    if (Date.now() - looked < SIX_HOURS) return;
    looked = Date.now();
    registration.update().catch(() => {});
  });
  addEventListener("online", goOn);
}

// Keeping

async function keep() {
  try {
    const found = await workers.register(new URL("sw.js", home), { updateViaCache: "none" });
    const isNew = found !== registration;
    registration = found;
    if (isNew) follow();
    else if (registration.active) await registration.update();
    if (!registration.active) return;
    settle("ready");
    look();
  } catch (problem) {
    if (workers.controller) look();
    else showFailure(problem instanceof TypeError ? "download" : "unsupported");
  }
}

// While a page is open the files of its edition stay, also where newer editions have come since: see dropOthers in sw.js.
function hold() {
  const untilLeft = () => new Promise((leave) => addEventListener("pagehide", leave, { once: true }));
  const name = `field-book ${home.pathname} ${page.dataset.edition}`;
  navigator.locks?.request(name, { mode: "shared" }, untilLeft).catch(() => {});
}

function offerInstall() {
  const button = document.getElementById("install");
  addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    if (!button) return;
    button.hidden = false;
    button.onclick = () => { event.prompt(); button.hidden = true; };
  });
}

function begin() {
  if (!workers || !("caches" in window)) return show("unavailable", "unsupported");
  workers.addEventListener("message", hear);
  workers.startMessages?.();
  addEventListener("pageshow", ({ persisted }) => { if (persisted) hold(); });
  hold();
  lookAgain();
  if (workers.controller) settle("ready"); // at once, as the engine's files come from it: registering takes a while
  keep();
  navigator.storage?.persist?.().catch(() => {});
}

if (!agreed) forget();
offerInstall();
begin();
expectScripts();
