{ // All of it stands in one block: cut off anywhere, this file is no worker at all, and never half of one.
// Keeps editions of the book whole. An edition is a set of files named by the hash of its content; it is saved under one
// cache of its own, each file checked against its hash, or not at all. The page of an edition never gets a file of another.
//
// The files come packed together, and each pack in pieces. A piece that has arrived is kept until an edition is whole: an
// attempt that was cut off, by the signal or by the phone, goes on where it stopped. What an edition on the phone already
// holds, under whatever path, is not fetched.
const EDITION = "@@edition@@";
const PACKS = []; // filled by the builder: { files: [{ path, hash, type, bytes }], pieces: [{ hash, bytes }] }
const POLICY = "@@policy@@"; // what a saved page may do, also where the host sends no policy of its own
const unpack = null; // filled by the builder: the function of unpack.js, so that this file too comes whole or not at all

const FOLDER = new URL(self.registration.scope).pathname;
const PREFIX = `field-book ${FOLDER} `;
const OWN = PREFIX + EDITION;
const PIECES = `${PREFIX}pieces`;
const FILES = PACKS.flatMap(({ files }) => files);
const LIST = "?files"; // in an edition's cache: what it holds; written last, so that it stands for a whole edition
const SERVED = "?served"; // in an edition's cache: when it began to serve
const MISSING = "missing/";
const NEVER_SAVED = ["sw.js", "reset.html", "reset.js", "@@one_file@@"];
const AT_ONCE = 3;
const LONGEST_SILENCE = 30_000; // milliseconds without a byte until a download counts as broken off

const address = (path) => new URL(path, self.registration.scope).href;
const placeOf = (piece) => address(`pieces/${piece.hash.slice(0, 20)}.bin`);
const sum = (items) => items.reduce((total, { bytes }) => total + bytes, 0);

async function tell(message) {
  const pages = await self.clients.matchAll({ includeUncontrolled: true, type: "window" });
  for (const page of pages) if (page.url.startsWith(self.registration.scope)) page.postMessage(message);
}

// Why an edition is not saved: "download", "changed" or "storage". The page has the words.
class Unsaved extends Error {
  constructor(why, what) {
    super(`${why}: ${what}`);
    this.why = why;
  }
}

async function hash(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function keep(cache, place, bytes, headers) {
  try {
    await cache.put(place, new Response(bytes, { headers }));
  } catch {
    throw new Unsaved("storage", place);
  }
}

const keepFile = (cache, file, bytes) =>
  keep(cache, address(file.path), bytes, { "Content-Type": file.type, "Content-Security-Policy": POLICY });

// Fetching

// The body as it comes in: `count` hears of each part, `alive` is called for each.
async function read(response, piece, count, alive) {
  const reader = response.body.getReader();
  const parts = [];
  let bytes = 0;
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    alive();
    bytes += part.value.length;
    if (bytes > piece.bytes) throw new Unsaved("changed", placeOf(piece));
    parts.push(part.value);
    count(part.value.length);
  }
  return new Blob(parts).arrayBuffer();
}

async function fetchBytes(piece, count) {
  const silence = new AbortController();
  let timer;
  const alive = () => {
    clearTimeout(timer);
    timer = setTimeout(() => silence.abort(), LONGEST_SILENCE);
  };
  alive();
  try {
    const response = await fetch(placeOf(piece), { cache: "no-cache", redirect: "manual", signal: silence.signal });
    if (response.type === "opaqueredirect") throw new Unsaved("changed", placeOf(piece)); // to a sign-in page
    if (!response.ok) throw new Unsaved("download", placeOf(piece));
    return await read(response, piece, count, alive);
  } catch (problem) {
    throw problem instanceof Unsaved ? problem : new Unsaved("download", placeOf(piece));
  } finally {
    clearTimeout(timer);
    silence.abort();
  }
}

async function fetchPiece(piece, pieces, count) {
  let counted = 0;
  try {
    const bytes = await fetchBytes(piece, (more) => { counted += more; count(more); });
    if (await hash(bytes) !== piece.hash) throw new Unsaved("changed", placeOf(piece));
    await keep(pieces, placeOf(piece), bytes);
  } catch (problem) {
    count(-counted);
    throw problem;
  }
}

// Saving

async function store(name, files) {
  const cache = await caches.open(name);
  const list = files ?? await (await cache.match(address(LIST)))?.json() ?? [];
  return { cache, pathOf: new Map(list.map(({ path, hash: its }) => [its, path])) };
}

async function editions() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX) && /^[0-9a-f]{12}$/.test(name.slice(PREFIX.length)));
}

// Whether a file is there already: saved by an attempt that was cut off, or in an older edition and then copied from it.
async function takeFile(file, stores) {
  const [own] = stores;
  for (const { cache, pathOf } of stores) {
    const path = pathOf.get(file.hash);
    const found = path !== undefined && await cache.match(address(path));
    const bytes = found && await found.arrayBuffer();
    if (!bytes || await hash(bytes) !== file.hash) continue;
    if (cache !== own.cache || path !== file.path) await keepFile(own.cache, file, bytes);
    return true;
  }
  return false;
}

async function takePack(pack, stores) {
  for (const file of pack.files) if (!await takeFile(file, stores)) return false;
  return true;
}

async function savePack(pack, pieces, { cache }) {
  const parts = await Promise.all(pack.pieces.map(async (piece) => (await pieces.match(placeOf(piece))).blob()));
  try {
    const bytes = unpack(new Uint8Array(await new Blob(parts).arrayBuffer()), sum(pack.files));
    let start = 0;
    for (const file of pack.files) {
      const own = bytes.subarray(start, start += file.bytes);
      if (await hash(own) !== file.hash) throw new Unsaved("changed", file.path);
      await keepFile(cache, file, own);
    }
  } catch (problem) {
    if (problem.why === "storage") throw problem;
    for (const piece of pack.pieces) await pieces.delete(placeOf(piece)); // what was kept has come to harm
    throw new Unsaved("changed", pack.files[0].path);
  }
}

// Fetches what is missing of these packs; a pack is unpacked as soon as its last piece is there, while others still come.
// Where one piece fails no other is begun, but those on their way are kept.
async function fetchPacks(packs, own, count) {
  const pieces = await caches.open(PIECES);
  const had = new Set((await pieces.keys()).map(({ url }) => url));
  const missing = new Map(packs.map((pack) => [pack, pack.pieces.filter((piece) => !had.has(placeOf(piece)))]));
  const waiting = packs.flatMap((pack) => missing.get(pack).map((piece) => ({ piece, pack })));
  count(sum(packs.flatMap((pack) => pack.pieces)) - sum(waiting.map(({ piece }) => piece)));
  const left = new Map(packs.map((pack) => [pack, missing.get(pack).length]));
  const lane = async () => {
    for (let next = waiting.shift(); next; next = waiting.shift()) {
      await fetchPiece(next.piece, pieces, count);
      left.set(next.pack, left.get(next.pack) - 1);
      if (left.get(next.pack) === 0) await savePack(next.pack, pieces, own);
    }
  };
  const stopped = (problem) => {
    waiting.length = 0;
    throw problem;
  };
  const whole = packs.filter((pack) => left.get(pack) === 0).map((pack) => savePack(pack, pieces, own));
  const ended = await Promise.allSettled([...whole, ...Array.from({ length: AT_ONCE }, lane)].map((work) => work.catch(stopped)));
  const failed = ended.find(({ status }) => status === "rejected");
  if (failed) throw failed.reason;
}

// Tells the pages how many bytes are here, each whole percent once.
function progress() {
  const total = sum(PACKS.flatMap(({ pieces }) => pieces));
  let done = 0;
  let told = -1;
  return (more) => {
    done += more;
    const share = Math.floor((100 * done) / total);
    if (share !== told) tell({ kind: "progress", done, total });
    told = share;
  };
}

async function saveAll() {
  const count = progress();
  const older = (await editions()).filter((name) => name !== OWN);
  const stores = [await store(OWN, FILES), ...await Promise.all(older.map((name) => store(name)))];
  const missing = [];
  for (const pack of PACKS) {
    if (await takePack(pack, stores)) count(sum(pack.pieces));
    else missing.push(pack);
  }
  await fetchPacks(missing, stores[0], count);
  await keep(stores[0].cache, address(LIST), JSON.stringify(FILES));
  await caches.delete(PIECES);
}

async function isWhole() {
  if (!await caches.has(OWN)) return false;
  const saved = new Set((await (await caches.open(OWN)).keys()).map(({ url }) => url));
  return [LIST, ...FILES.map(({ path }) => path)].every((path) => saved.has(address(path)));
}

self.addEventListener("install", (event) => {
  event.waitUntil(saveAll().catch(async (problem) => {
    await tell({ kind: "failed", why: problem.why ?? "storage" });
    throw problem;
  }));
});

// Two editions stay beside the new one: any that a page still shows (such a page holds a lock of the edition's name), and
// the one that served last, as the host may go back to it. All else goes.
async function dropOthers() {
  const others = (await editions()).filter((name) => name !== OWN);
  const shown = new Set((await navigator.locks?.query())?.held.map(({ name }) => name));
  const began = async (name) => Number(await (await (await caches.open(name)).match(address(SERVED)))?.text() ?? 0);
  const times = new Map(await Promise.all(others.map(async (name) => [name, await began(name)])));
  const last = Math.max(...times.values());
  const isKept = (name) => shown.has(name) || (times.get(name) > 0 && times.get(name) === last);
  await Promise.all(others.filter((name) => !isKept(name)).map((name) => caches.delete(name)));
  await (await caches.open(OWN)).put(address(SERVED), new Response(String(Date.now())));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOthers().catch(() => {}).then(() => self.clients.claim()));
});

// A page asks how the saved book stands. The phone may have thrown the files away to make room: they are fetched again.
let mending = null;
async function look(page) {
  if (await isWhole()) return page.postMessage({ kind: "whole", edition: EDITION });
  mending ??= saveAll()
    .then(() => tell({ kind: "whole", edition: EDITION }), () => tell({ kind: "failed", why: "lost" }))
    .finally(() => { mending = null; });
  return mending;
}

self.addEventListener("message", (event) => {
  if (event.data.kind === "take-over") self.skipWaiting();
  if (event.data.kind === "look") event.waitUntil(look(event.source));
});

// Serving

// A file of an edition comes from that edition's cache; a page comes from the edition that serves.
async function answer(request) {
  const url = new URL(request.url);
  const path = url.pathname.slice(FOLDER.length);
  const edition = /^e\/([0-9a-f]+)\//.exec(path)?.[1] ?? EDITION;
  const wanted = path.replace(/index\.html$/, "");
  const saved = await caches.has(PREFIX + edition) && await caches.open(PREFIX + edition);
  const found = saved && await saved.match(address(wanted));
  if (found) return found;
  if (saved && await saved.match(address(`${wanted}/`))) return Response.redirect(address(`${wanted}/`));
  const fetched = await fetch(request).catch(() => Response.error());
  if (request.mode !== "navigate" || (fetched.type !== "error" && fetched.status !== 404)) return fetched;
  const missing = saved && await saved.match(address(MISSING));
  return missing ? atAnyDepth(missing) : fetched;
}

// The missing page is shown at addresses of any depth: its links are made to start at the book's own folder.
async function atAnyDepth(missing) {
  const text = (await missing.text()).replaceAll('="../', `="${FOLDER}`);
  return new Response(text, { status: 404, headers: missing.headers });
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const own = request.url.startsWith(self.registration.scope);
  if (request.method !== "GET" || !own || NEVER_SAVED.some((path) => request.url === address(path))) return;
  event.respondWith(answer(request).catch(() => answer(request))); // a store may fail for a moment, on a busy phone
});
}
