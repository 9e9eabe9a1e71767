// Writes of the address come at every key that is pressed, and browsers bear only so many: WebKit refuses more than 100 in 30
// seconds by an error, which would end the script that writes. So after plenty of them the newest waits a little.

const PLENTY = 60;
const WHILE = 30_000; // milliseconds in which so many are plenty
const REST = 800; // milliseconds between two, from then on

const times = [];
let waiting;
let timer;

function run() {
  clearTimeout(timer);
  if (!waiting) return;
  try {
    waiting();
    waiting = undefined;
    times.push(performance.now());
    if (times.length > PLENTY) times.shift();
  } catch { // refused all the same, as another script has written too
    timer = setTimeout(run, REST);
  }
}

/** Makes a write now or soon; of those that wait only the newest is made. */
export function sparingly(write) {
  waiting = write;
  clearTimeout(timer);
  const now = performance.now();
  const isPlenty = times.length === PLENTY && now - times[0] < WHILE;
  const rest = isPlenty ? times.at(-1) + REST - now : 0;
  if (rest > 0) timer = setTimeout(run, rest);
  else run();
}

// The reader may be leaving, or has gone on to another address, which is not to be written over.
addEventListener("click", run, { capture: true });
addEventListener("pagehide", run);
addEventListener("hashchange", () => { waiting = undefined; }, { capture: true });
