// Stands in for the host in the worker that runs Python: the page hands over the engine's files in its first message, and
// whatever is fetched comes from them.
self.importScripts = undefined; // its being there tells the runtime of a worker of the old kind, in which it would not start
const files = new Promise((resolve) => {
  addEventListener("message", (event) => {
    event.stopImmediatePropagation();
    resolve(event.data);
  }, { once: true });
});

self.fetch = async (resource) => {
  const file = (await files).get(String(resource?.url ?? resource).split("/").at(-1));
  return file ? new Response(file.bytes, { headers: { "Content-Type": file.type } }) : Response.error();
};

// No browser keeps an engine's memory for a file.
together({ "snapshot.js": { kept: async () => undefined } })("worker.js");
