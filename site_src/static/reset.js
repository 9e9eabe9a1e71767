// Removes this book's saved copy, its engine's memory and its worker, and nothing else; what was typed lives in links and is not touched.
const home = new URL("./", import.meta.url);

async function remove() {
  const registration = await navigator.serviceWorker?.getRegistration(home);
  await registration?.unregister();
  const own = (name) => ["field-book", "field-book-memory"].some((kind) => name.startsWith(`${kind} ${home.pathname} `));
  const names = await caches.keys();
  await Promise.all(names.filter(own).map((name) => caches.delete(name)));
}

document.getElementById("remove").addEventListener("click", async () => {
  await remove().catch(() => {});
  document.getElementById("done").hidden = false;
});
