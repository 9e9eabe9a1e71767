// Removes this book's saved copy and its worker, and nothing else; what was typed lives in links and is not touched.
const home = new URL("./", import.meta.url);

async function remove() {
  const registration = await navigator.serviceWorker?.getRegistration(home);
  await registration?.unregister();
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(`field-book ${home.pathname} `)).map((name) => caches.delete(name)));
}

document.getElementById("remove").addEventListener("click", async () => {
  await remove().catch(() => {});
  document.getElementById("done").hidden = false;
});
