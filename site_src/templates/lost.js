// Finds the book's start above an address that is not there, however deep: the nearest folder that holds its manifest.
{
  const parts = location.pathname.split("/");
  const isStart = async (folder) => {
    const response = await fetch(`${folder}manifest.webmanifest`);
    return response.ok && (await response.json()).name === document.body.dataset.name;
  };
  const find = async () => {
    for (let depth = parts.length - 1; depth > 0; depth -= 1) {
      const folder = `${parts.slice(0, depth).join("/")}/`;
      if (!await isStart(folder).catch(() => false)) continue;
      document.getElementById("start").href = folder;
      document.getElementById("way").hidden = false;
      return;
    }
  };
  find();
}
