// A worker that unpacks one pack: its files by path, or nothing if they came to harm. It ends with the function of
// static/unpack.js.
function bytesOf(text) {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let at = 0; at < bytes.length; at += 1) bytes[at] = letters.charCodeAt(at);
  return bytes;
}

// Not every browser hashes in a page that came from a file.
async function isAsItWas(bytes, hash) {
  if (!self.crypto?.subtle) return true;
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("") === hash;
}

async function read({ text, files }) {
  const bytes = unpack(bytesOf(text), files.reduce((total, file) => total + file.bytes, 0));
  const found = new Map();
  let start = 0;
  for (const { path, hash, type, bytes: size } of files) {
    const own = bytes.subarray(start, start += size);
    if (!await isAsItWas(own, hash)) throw new Error(path);
    found.set(path, { bytes: own, type });
  }
  return found;
}

onmessage = ({ data }) => read(data).then((found) => postMessage(found), () => postMessage(null));
