import { loadPyodide } from "./pyodide.mjs";

const python = await loadPyodide();
postMessage(python.runPython("1 + 1"));
