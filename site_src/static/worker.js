// Runs Python: starts the runtime with the book's own code and answers questions, JSON text in, JSON text out.
// Its name says how: "" starts from the memory that was kept, where there is one; "plain" starts anew; "keeper" starts
// anew, keeps its memory for later starts, and ends.
import { drop, keep, kept } from "./snapshot.js";

const folder = new URL("engine/", import.meta.url).href;
const BOOK = "/lib/book.zip";
const BETWEEN_WORDS = 100; // milliseconds between two words on how far a computation is
const LONGEST_RETURN = 20_000; // milliseconds for bringing a memory back; what takes longer hangs

const OPEN = "import calc.progress; from site_src.render import reply; reply, calc.progress.listen";
const WARM_UP = "from site_src.exercise import warm_up; warm_up()";
const WAKE_UP = "from site_src.exercise import wake_up; wake_up()";

// The runtime would wait for ever for a file that is missing, and at a wrong type, which some hosts give: what is missing
// ends the start, and the type is set here.
const fetchAsIs = self.fetch.bind(self);
self.fetch = async (resource, options) => {
  if (!String(resource?.url ?? resource).endsWith(".wasm")) return fetchAsIs(resource, options);
  const response = await fetchAsIs(resource, options).catch(() => Response.error());
  if (!response.ok || isPage(response)) postMessage({ kind: "failed" });
  if (response.headers.get("Content-Type") === "application/wasm") return response;
  return new Response(response.body, { headers: { "Content-Type": "application/wasm" } });
};

// A sign-in page in place of a file comes as if all were well.
function isPage(response) { return /html/.test(response.headers.get("Content-Type")); }

function step(name) { postMessage({ kind: "step", name }); }

async function read(name) {
  const response = await fetch(folder + name);
  if (!response.ok || isPage(response)) throw new Error(name);
  return response;
}

// The scripts are large: they come while the memory that was kept is being read.
const scripts = Promise.all([import("./engine/pyodide.asm.js"), import("./engine/pyodide.js")]);
const texts = Promise.all([
  read("pyodide-lock.json").then((r) => r.text()),
  read("book.zip").then((r) => r.arrayBuffer()),
]);
for (const early of [scripts, texts]) early.catch(() => {}); // awaited, and its failure met, in boot()

async function boot(options, refill = async () => {}) {
  step("fetch");
  const [{ default: createPyodideModule }, { loadPyodide }] = await scripts;
  const [lock, book] = await texts;
  step("start");
  return loadPyodide({
    indexURL: folder,
    packageBaseUrl: folder,
    stdLibURL: `${folder}python.zip`,
    lockFileContents: lock,
    env: { PYTHONPATH: BOOK },
    fsInit: (FS) => { FS.writeFile(BOOK, new Uint8Array(book)); },
    createPyodideModule: async (settings) => {
      const module = await createPyodideModule(settings);
      await refill(module);
      return module;
    },
    ...options,
  });
}

async function bootToKeep() {
  const python = await boot({ _makeSnapshot: true });
  python.runPython(WARM_UP);
  return python;
}

async function wake({ start, refill }) {
  const python = await boot({ _loadSnapshot: start }, refill);
  python.runPython(WAKE_UP);
  return python;
}

function late() {
  return new Promise((_, reject) => setTimeout(reject, LONGEST_RETURN, new Error("late")));
}

// What was kept did not serve: it goes, and a fresh worker is asked for.
async function giveUpKept() {
  await drop().catch(() => {});
  postMessage({ kind: "again" });
}

// An engine from the memory that was kept, if there is one.
async function fromKept() {
  try {
    const memory = self.name === "" && await kept();
    return memory && await Promise.race([wake(memory), late()]);
  } catch {
    await giveUpKept();
    return new Promise(() => {}); // the page ends this worker
  }
}

let answering; // the number of the question that Python is at
let told = 0;

function tellProgress(share, words) {
  if (performance.now() - told < BETWEEN_WORDS) return;
  told = performance.now();
  postMessage({ kind: "progress", id: answering, share, words });
}

async function start() {
  const woken = await fromKept();
  const python = woken || await boot();
  step("import");
  const [reply, listen] = python.runPython(OPEN);
  listen(tellProgress);
  postMessage({ kind: "ready", from: woken ? "kept" : "plain" });
  return { reply, fail: woken ? giveUpKept : fail };
}

function fail() { postMessage({ kind: "failed" }); }

if (self.name === "keeper") {
  keep(bootToKeep).finally(() => postMessage({ kind: "kept" }));
} else {
  const starting = start();
  starting.catch(fail);
  onmessage = async ({ data: { id, request } }) => {
    const engine = await starting;
    answering = id;
    try {
      postMessage({ kind: "reply", id, reply: engine.reply(request) });
    } catch {
      engine.fail();
    }
  };
}
