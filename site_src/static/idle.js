// What can wait until the page has drawn itself.

const LONGEST = 2000; // milliseconds: a phone that is never idle, or a page out of sight, would wait for ever

export function whenIdle(run) {
  if (window.requestIdleCallback) requestIdleCallback(run, { timeout: LONGEST });
  else setTimeout(run);
}
