// Starts the worker that runs Python; the book in one file has another way (site_src/alone/shell.js).
export const newWorker = (name) => new Worker(new URL("worker.js", import.meta.url), { type: "module", name });

export const keepsMemory = true; // whether a started engine's memory can be kept for later starts
