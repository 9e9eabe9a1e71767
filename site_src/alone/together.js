// Puts modules together: each is a function that gives what it exports, and runs once for every `together`, when it is first
// used; `given` stands in place of some.
function together(given) {
  const made = { ...given };
  const use = (name) => (made[name] ??= modules[name](use));
  return use;
}
