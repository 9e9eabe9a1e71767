// Runs Python: starts the runtime with the book's own code and answers questions, JSON text in, JSON text out.
import createPyodideModule from "./engine/pyodide.asm.js";
import { loadPyodide } from "./engine/pyodide.js";

const folder = new URL("engine/", import.meta.url).href;
const BOOK = "/lib/book.zip";
const START = "from site_src.render import reply; reply";

// The runtime would wait for ever for a file that is missing, and at a wrong type, which some hosts give: what is missing
// ends the start, and the type is set here.
const fetchAsIs = self.fetch.bind(self);
self.fetch = async (resource, options) => {
  if (!String(resource?.url ?? resource).endsWith(".wasm")) return fetchAsIs(resource, options);
  const response = await fetchAsIs(resource, options).catch(() => Response.error());
  if (!response.ok) postMessage({ kind: "failed" });
  return new Response(response.body, { headers: { "Content-Type": "application/wasm" } });
};

function step(name) { postMessage({ kind: "step", name }); }

async function read(name) {
  const response = await fetch(folder + name);
  if (!response.ok) throw new Error(name);
  return response;
}

async function start() {
  step("fetch");
  const [lock, book] = await Promise.all([
    read("pyodide-lock.json").then((r) => r.text()),
    read("book.zip").then((r) => r.arrayBuffer()),
  ]);
  step("start");
  const python = await loadPyodide({
    createPyodideModule,
    indexURL: folder,
    packageBaseUrl: folder,
    stdLibURL: `${folder}python.zip`,
    lockFileContents: lock,
    env: { PYTHONPATH: BOOK },
    fsInit: (FS) => { FS.writeFile(BOOK, new Uint8Array(book)); },
  });
  step("import");
  return python.runPython(START);
}

const starting = start();
starting.then(() => postMessage({ kind: "ready" }), () => postMessage({ kind: "failed" }));

onmessage = async ({ data: { id, request } }) => {
  try {
    const reply = await starting;
    postMessage({ kind: "reply", id, reply: reply(request) });
  } catch {
    postMessage({ kind: "failed" });
  }
};
