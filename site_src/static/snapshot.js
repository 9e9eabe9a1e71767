// The memory of a started engine, kept on this phone so that later starts take it up where it was. Only ever a short cut:
// whatever is wrong with it, it is dropped and the engine starts plainly. It lies apart from the edition's verified files,
// under the edition's name, and serves that edition in this very browser only.

const { pathname } = new URL("../../", import.meta.url);
const [edition] = new URL("./", import.meta.url).pathname.split("/").slice(-2);
const PREFIX = `field-book-memory ${pathname} `;
const OWN = PREFIX + edition;
const [START, MEMORY, BEGUN] = ["start", "memory", "begun"].map((name) => new URL(name, import.meta.url).href);

const PAGE = 16_384; // bytes; a page of zeros is not kept
const MOST_ATTEMPTS = 3; // of one edition: a phone that cannot make it is not asked at every visit
const ROOM = 4; // times its size must be free, or it is not kept

async function hash(bytes) {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)).join(" ");
}

// One part as it was kept, or an error.
async function part(cache, address) {
  const response = await cache.match(address);
  const bytes = await response.arrayBuffer();
  if (await hash(bytes) !== response.headers.get("X-Hash")) throw new Error(address);
  return bytes;
}

function keepPart(cache, address, bytes, hashed) {
  return cache.put(address, new Response(bytes, { headers: { "X-Hash": hashed, "X-Browser": navigator.userAgent } }));
}

// What was kept, as far as `start` goes, and a function that brings the memory back into a fresh module; or undefined.
export async function kept() {
  if (!("caches" in self) || !(await caches.has(OWN))) return undefined;
  const cache = await caches.open(OWN);
  const found = await cache.match(START);
  if (!found) return undefined;
  if (found.headers.get("X-Browser") !== navigator.userAgent) throw new Error("another browser");
  const memory = part(cache, MEMORY);
  memory.catch(() => {}); // it is awaited, and its failure met, in refill()
  return { start: new Uint8Array(await part(cache, START)), refill: async (module) => unpack(await memory, module) };
}

// A snapshot is Pyodide's own few kilobytes, at which it starts, and the whole memory after them.
function split(snapshot) {
  const memoryAt = new Uint32Array(snapshot.buffer, snapshot.byteOffset, 2)[1];
  return [snapshot.slice(0, memoryAt), snapshot.subarray(memoryAt)];
}

// Packed: the number of pages and of those that are kept, where each of these lies, then the pages.
function pack(memory) {
  const words = new Uint32Array(memory.buffer, memory.byteOffset, memory.length / 4);
  const isKept = (page) => words.subarray(page * PAGE / 4, (page + 1) * PAGE / 4).some((word) => word !== 0);
  const pages = memory.length / PAGE;
  const places = Array.from({ length: pages }, (_, page) => page).filter(isKept);
  const head = Uint32Array.of(pages, places.length, ...places);
  const packed = new Uint8Array(head.byteLength + places.length * PAGE);
  packed.set(new Uint8Array(head.buffer));
  places.forEach((page, n) => packed.set(memory.subarray(page * PAGE, (page + 1) * PAGE), head.byteLength + n * PAGE));
  return packed;
}

function unpack(packed, module) {
  const [pages, count] = new Uint32Array(packed, 0, 2);
  const places = new Uint32Array(packed, 8, count);
  const first = 8 + places.byteLength;
  const fresh = module.HEAPU8.length / PAGE;
  module.growMemory(pages * PAGE);
  const memory = module.HEAPU8;
  let next = 0;
  for (let page = 0; page < pages; page += 1) {
    if (places[next] === page) {
      memory.set(new Uint8Array(packed, first + next * PAGE, PAGE), page * PAGE);
      next += 1;
    } else if (page < fresh) memory.fill(0, page * PAGE, (page + 1) * PAGE);
  }
}

export const drop = async () => {
  const cache = await caches.open(OWN);
  await Promise.all([START, MEMORY].map((address) => cache.delete(address)));
};

// Makes and keeps it, once, in one tab. `boot` starts an engine whose memory may be kept.
export async function keep(boot) {
  await navigator.locks.request(OWN, { ifAvailable: true }, async (lock) => { if (lock) await keepAlone(boot); });
}

async function keepAlone(boot) {
  for (const name of await caches.keys()) if (name.startsWith(PREFIX) && name !== OWN) await caches.delete(name);
  const cache = await caches.open(OWN);
  const begun = Number(await (await cache.match(BEGUN))?.text() ?? 0);
  if (begun >= MOST_ATTEMPTS || await cache.match(START)) return;
  await cache.put(BEGUN, new Response(begun + 1));
  const [start, memory] = split((await boot()).makeMemorySnapshot());
  const packed = pack(memory);
  const { quota, usage } = await navigator.storage.estimate();
  if (quota - usage < ROOM * packed.length) return;
  try {
    await keepPart(cache, MEMORY, packed, await hash(packed));
    await keepPart(cache, START, start, await hash(start));
  } catch {
    await drop();
  }
}
