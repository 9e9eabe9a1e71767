// Keeps editions of the book whole. An edition is a set of files named by the hash of its content; it is saved under one
// cache of its own, each file checked against its hash, or not at all. The page of an edition never gets a file of another.
const EDITION = "@@edition@@";
const FILES = []; // filled by the builder: { path, hash, type, bytes, packed }
const POLICY = "@@policy@@"; // what a saved page may do, also where the host sends no policy of its own

const PREFIX = `field-book ${new URL(self.registration.scope).pathname} `;
const OWN = PREFIX + EDITION;
const LIST = "?files";
const MISSING = "missing/";
const NEVER_SAVED = ["sw.js", "reset.html", "reset.js"];
const AT_ONCE = 4;
const KEPT_EDITIONS = 2;

const address = (path) => new URL(path, self.registration.scope).href;
const headersOf = (file) => ({ "Content-Type": file.type, "Content-Security-Policy": POLICY });

async function tell(message) {
  const pages = await self.clients.matchAll({ includeUncontrolled: true, type: "window" });
  for (const page of pages) page.postMessage(message);
}

class Unsaved extends Error {
  constructor(why, path) {
    super(`${why}: ${path}`);
    this.why = why;
  }
}

async function hash(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function unpacked(response) {
  return new Response(response.body.pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

// Large files come packed, so that a host that does not compress costs no more; a host may also have unpacked them itself.
async function fetchBytes(file) {
  let response;
  try {
    response = await fetch(address(file.packed ? `${file.path}.gz` : file.path), { cache: "no-cache" });
  } catch {
    throw new Unsaved("download", file.path);
  }
  if (!response.ok) throw new Unsaved("download", file.path);
  try {
    const bytes = await response.arrayBuffer();
    const isPacked = file.packed && new DataView(bytes).getUint16(0) === 0x1f8b;
    return isPacked ? await unpacked(new Response(bytes)) : bytes;
  } catch {
    throw new Unsaved("download", file.path);
  }
}

// The same content may be there already: saved by an attempt that was cut off, or in an older edition under another path.
async function savedBytes(file, stores) {
  for (const { cache, pathOf } of stores) {
    const path = pathOf.get(file.hash);
    const found = path !== undefined && await cache.match(address(path));
    if (!found) continue;
    const bytes = await found.arrayBuffer();
    if (await hash(bytes) === file.hash) return bytes;
  }
  return null;
}

async function store(name, files) {
  const cache = await caches.open(name);
  const list = files ?? await (await cache.match(address(LIST)))?.json() ?? [];
  return { cache, pathOf: new Map(list.map(({ path, hash: its }) => [its, path])) };
}

async function editions() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX));
}

async function save(file, stores) {
  let bytes = await savedBytes(file, stores);
  if (!bytes) {
    bytes = await fetchBytes(file);
    if (await hash(bytes) !== file.hash) throw new Unsaved("changed", file.path);
  }
  try {
    await stores[0].cache.put(address(file.path), new Response(bytes, { headers: headersOf(file) }));
  } catch {
    throw new Unsaved("storage", file.path);
  }
}

async function saveAll() {
  const older = (await editions()).filter((name) => name !== OWN);
  const stores = [await store(OWN, FILES), ...await Promise.all(older.map((name) => store(name)))];
  const waiting = [...FILES];
  const total = FILES.reduce((sum, file) => sum + file.bytes, 0);
  let done = 0;
  const saveNext = async () => {
    for (let file = waiting.shift(); file; file = waiting.shift()) {
      await save(file, stores);
      done += file.bytes;
      await tell({ kind: "progress", done, total });
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, saveNext));
  await stores[0].cache.put(address(LIST), new Response(JSON.stringify(FILES)));
}

self.addEventListener("install", (event) => {
  event.waitUntil(saveAll().catch(async (problem) => {
    await tell({ kind: "failed", why: problem.why ?? "storage" });
    throw problem;
  }));
});

// The whole edition before this one stays, for a page of it that is still open; all else goes.
async function dropOldest() {
  const older = (await editions()).filter((name) => name !== OWN);
  const whole = [];
  for (const name of older) if (await (await caches.open(name)).match(address(LIST))) whole.push(name);
  const kept = whole.slice(1 - KEPT_EDITIONS);
  await Promise.all(older.filter((name) => !kept.includes(name)).map((name) => caches.delete(name)));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOldest().then(() => self.clients.claim()));
});

self.addEventListener("message", ({ data }) => {
  if (data.kind === "take-over") self.skipWaiting();
});

// A file of an edition comes from that edition's cache; a page comes from the edition that serves.
async function answer(request) {
  const url = new URL(request.url);
  const path = url.pathname.slice(new URL(self.registration.scope).pathname.length);
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
  const text = (await missing.text()).replaceAll('="../', `="${new URL(self.registration.scope).pathname}`);
  return new Response(text, { status: 404, headers: missing.headers });
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const own = request.url.startsWith(self.registration.scope);
  if (request.method !== "GET" || !own || NEVER_SAVED.some((path) => request.url === address(path))) return;
  event.respondWith(answer(request));
});
