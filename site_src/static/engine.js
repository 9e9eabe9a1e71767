// The way to the Python that thinks: one worker, questions in, replies out, both as JSON text.
// <html data-engine="starting|ready|unavailable"> tells how it stands.

const LONGEST_SILENCE = 90_000; // milliseconds without a sign of life from a starting engine; a slow phone takes 20 000

const page = document.documentElement;

function show(state) { page.dataset.engine = state; }

export class Engine {
  #worker;
  #asked = new Map();
  #count = 0;
  #silence;

  // Starts the engine, if it has not been started.
  start() {
    if (this.#worker || page.dataset.engine === "unavailable") return;
    if (typeof WebAssembly !== "object") return show("unavailable");
    try {
      this.#worker = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
    } catch {
      return show("unavailable");
    }
    this.#worker.onmessage = ({ data }) => this.#hear(data);
    this.#worker.onerror = () => this.#fail();
    this.#expectLife();
  }

  // Resolves to the reply; never settles where the engine is unavailable, as the page then says so.
  ask(request) {
    this.start();
    return new Promise((resolve) => {
      this.#count += 1;
      this.#asked.set(this.#count, resolve);
      this.#worker?.postMessage({ id: this.#count, request: JSON.stringify(request) });
    });
  }

  #hear({ kind, id, reply }) {
    if (kind === "failed") return this.#fail();
    if (kind === "step") return this.#expectLife();
    if (kind === "ready") {
      clearTimeout(this.#silence);
      return show("ready");
    }
    this.#asked.get(id)?.(JSON.parse(reply));
    this.#asked.delete(id);
  }

  #expectLife() {
    clearTimeout(this.#silence);
    this.#silence = setTimeout(() => this.#fail(), LONGEST_SILENCE);
  }

  #fail() {
    clearTimeout(this.#silence);
    this.#worker?.terminate();
    show("unavailable");
  }
}
