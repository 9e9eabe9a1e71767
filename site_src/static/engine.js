// The way to the Python that thinks: one worker, questions in, replies out, both as JSON text.
// <html data-engine="starting|ready|unavailable"> tells how it stands, data-engine-from="kept|plain" how it started.
import { keepsMemory, newWorker } from "./workers.js";

const LONGEST_SILENCE = 90_000; // milliseconds without a sign of life from a starting engine; a slow phone takes 20 000
const CALM = 10_000; // milliseconds with no question, after which a started engine's memory is kept for later starts
const LEAST_MEMORY = 4; // gigabytes that a phone must have for that, where the browser tells

const page = document.documentElement;

function show(state) { page.dataset.engine = state; }

export class Engine {
  #worker;
  #name = ""; // of the worker: see there
  #asked = new Map(); // what is open, by number: { request, resolve, progress }
  #count = 0;
  #silence;
  #calm;
  #isKeeping = false;

  // Starts the engine, if it has not been started.
  start() {
    if (this.#worker || page.dataset.engine === "unavailable") return;
    if (typeof WebAssembly !== "object") return show("unavailable");
    let worker;
    try {
      worker = newWorker(this.#name);
    } catch {
      return show("unavailable");
    }
    this.#worker = worker;
    // One that was ended in the middle of its work may still say that something went wrong, when another is there already.
    worker.onmessage = ({ data }) => { if (worker === this.#worker) this.#hear(data); };
    worker.onerror = () => { if (worker === this.#worker) this.#fail(); };
    this.#expectLife();
    for (const id of this.#asked.keys()) this.#send(id);
  }

  // Resolves to the reply, or to { stopped: true } if stop() came first; never settles where the engine is unavailable,
  // as the page then says so. While Python computes, progress({ share, words }) is called: 0 to 1, and what is being done.
  ask(request, { progress } = {}) {
    this.start();
    clearTimeout(this.#calm);
    return new Promise((resolve) => {
      this.#count += 1;
      this.#asked.set(this.#count, { request: JSON.stringify(request), resolve, progress });
      this.#send(this.#count);
    });
  }

  // Stops whatever is being computed: every question still open resolves to { stopped: true }, and a fresh engine starts.
  stop() {
    if (!this.#asked.size) return;
    const open = [...this.#asked.values()];
    this.#asked.clear();
    this.#startAnew();
    for (const { resolve } of open) resolve({ stopped: true });
  }

  #send(id) { this.#worker?.postMessage({ id, request: this.#asked.get(id).request }); }

  #hear({ kind, id, reply, share, words, from }) {
    if (kind === "failed") return this.#fail();
    if (kind === "step") return this.#expectLife();
    if (kind === "progress") return this.#asked.get(id)?.progress?.({ share, words });
    if (kind === "again") {
      this.#name = "plain";
      return this.#startAnew();
    }
    if (kind === "ready") {
      clearTimeout(this.#silence);
      page.dataset.engineFrom = from;
      show("ready");
    } else {
      this.#asked.get(id)?.resolve(JSON.parse(reply));
      this.#asked.delete(id);
    }
    return this.#keepWhenCalm();
  }

  #expectLife() {
    clearTimeout(this.#silence);
    this.#silence = setTimeout(() => this.#fail(), LONGEST_SILENCE);
  }

  // Where an engine had to start plainly, from a book that is saved, another worker keeps a memory for later starts.
  #keepWhenCalm() {
    clearTimeout(this.#calm);
    if (!keepsMemory || this.#isKeeping || page.dataset.engineFrom === "kept") return;
    if ((navigator.deviceMemory ?? LEAST_MEMORY) < LEAST_MEMORY) return;
    this.#calm = setTimeout(() => {
      const isCalm = page.dataset.offline === "ready" && !this.#asked.size && !document.hidden;
      if (isCalm) this.#keep();
      else this.#keepWhenCalm();
    }, CALM);
  }

  #keep() {
    this.#isKeeping = true;
    const keeper = newWorker("keeper");
    keeper.onmessage = ({ data }) => { if (data.kind !== "step") keeper.terminate(); };
    keeper.onerror = () => keeper.terminate();
  }

  #startAnew() {
    this.#end();
    if (page.dataset.engine !== "unavailable") show("starting");
    this.start();
  }

  #end() {
    clearTimeout(this.#silence);
    clearTimeout(this.#calm);
    this.#worker?.terminate();
    this.#worker = undefined;
  }

  #fail() {
    this.#end();
    show("unavailable");
  }
}

export const engine = new Engine();
