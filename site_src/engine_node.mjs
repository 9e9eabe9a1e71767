// Starts the engine under node and runs one Python program in it:
//
//     node engine_node.mjs <folder of the engine's files> <program.py> < input > output
//
// The program is an ordinary one: it reads sys.stdin and prints. Where the folder holds book.zip, our own code can be
// imported. An exception ends it with its traceback on standard error and exit code 1.
import { existsSync } from "node:fs";
import { copyFile, mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const BOOK = "/lib/book.zip";

// Compiling gives the same bytes every time, without the columns that only a source could show.
const ENVIRONMENT = { PYTHONPATH: BOOK, PYTHONHASHSEED: "0", PYTHONNODEBUGRANGES: "1" };

// Browsers want the scripts named .js, node takes modules only as .mjs: it gets copies.
async function importScripts(folder) {
  const copies = await mkdtemp(join(tmpdir(), "engine-"));
  try {
    const load = async (name) => {
      const copy = join(copies, `${name}.mjs`);
      await copyFile(join(folder, `${name}.js`), copy);
      return import(pathToFileURL(copy).href);
    };
    const createPyodideModule = (await load("pyodide.asm")).default;
    const { loadPyodide } = await load("pyodide");
    return { createPyodideModule, loadPyodide };
  } finally {
    await rm(copies, { recursive: true });
  }
}

async function startEngine(folder) {
  const { createPyodideModule, loadPyodide } = await importScripts(folder);
  const file = (name) => join(folder, name);
  return loadPyodide({
    createPyodideModule,
    indexURL: folder,
    stdLibURL: file("python.zip"),
    lockFileContents: await readFile(file("pyodide-lock.json"), "utf8"),
    packageBaseUrl: folder,
    env: ENVIRONMENT,
    fsInit: async (FS) => {
      if (existsSync(file("book.zip"))) FS.writeFile(BOOK, await readFile(file("book.zip")));
    },
  });
}

const [folder, program] = process.argv.slice(2).map((path) => resolve(path));
try {
  const engine = await startEngine(folder);
  engine.runPython(await readFile(program, "utf8"), { filename: program });
  const flush = engine.runPython("import sys; sys.stdout.flush"); // called as a page calls Python
  flush();
} catch (error) {
  console.error(error.message ?? error);
  process.exitCode = 1;
}
