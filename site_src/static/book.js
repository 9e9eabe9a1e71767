// Every page: keep the whole book on this phone, say how far that is, and offer a newer edition without forcing it.
// What it says stands in the page; this script only sets <html data-offline="saving|ready|unavailable"> and data-why.

const page = document.documentElement;
const home = new URL("../../", import.meta.url);
const LONGEST_HANDOVER = 2000; // milliseconds
const SIX_HOURS = 6 * 60 * 60 * 1000;

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
  document.getElementById("saved-share").textContent = `: ${Math.floor((100 * done) / total)} %`;
}

// The worker's words: a closed list.
function hear({ data }) {
  if (data.kind === "progress") showProgress(data);
  else if (data.kind === "failed" && !navigator.serviceWorker.controller) show("unavailable", data.why);
}

function offer(waiting) {
  const notice = document.getElementById("update");
  notice.hidden = false;
  document.getElementById("update-now").onclick = () => takeOver(waiting);
}

// Chromium may let the old worker hold on while a page's engine runs; opening the page anew ends that.
function takeOver(waiting) {
  waiting.postMessage({ kind: "take-over" });
  setTimeout(() => location.reload(), LONGEST_HANDOVER);
}

function watch(registration) {
  if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const next = registration.installing;
    next.addEventListener("statechange", () => {
      if (next.state === "installed" && registration.active) offer(next);
      if (next.state === "redundant" && !registration.active) show("unavailable", page.dataset.why ?? "download");
    });
  });
}

// Once the reader has agreed, or has left, the new edition takes over; a page of the old one is then opened anew, once.
// (A page that was reloaded by force has no worker of its own, although one serves.)
function followTakeOver(registration) {
  let editionOnShow = Boolean(navigator.serviceWorker.controller ?? registration.active);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (editionOnShow) location.reload();
    editionOnShow = true;
  });
}

function lookForNewer(registration) {
  let looked = Date.now();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible" || Date.now() - looked < SIX_HOURS) return;
    looked = Date.now();
    registration.update().catch(() => {});
  });
}

async function keep() {
  const workers = navigator.serviceWorker;
  if (!workers || !("caches" in window)) return show("unavailable", "unsupported");
  workers.addEventListener("message", hear);
  workers.startMessages?.();
  try {
    const registration = await workers.register(new URL("sw.js", home), { updateViaCache: "none" });
    followTakeOver(registration);
    watch(registration);
    lookForNewer(registration);
    if (registration.active || (await activeOf(registration))) show("ready");
    navigator.storage?.persist?.().catch(() => {});
  } catch {
    if (workers.controller) show("ready");
    else show("unavailable", page.dataset.why ?? "unsupported");
  }
}

// Resolves to true when the first edition is whole and serves, to false when its saving failed.
function activeOf(registration) {
  const first = registration.installing ?? registration.waiting;
  return new Promise((resolve) => {
    if (!first) resolve(false);
    else first.addEventListener("statechange", () => {
      if (first.state === "activated") resolve(true);
      if (first.state === "redundant") resolve(false);
    });
  });
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

offerInstall();
keep();
