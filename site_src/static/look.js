// Puts what the engine says of a set-up into the page: drawing, notes and the rest, wherever the page has a place for it.

const find = (id) => document.getElementById(id);

export function showLook(look) {
  for (const part of ["drawing", "notes", "summary", "missing"]) {
    if (find(part)) find(part).innerHTML = look[part];
  }
  find("notes-box").hidden = !look.notes.trim();
}

export function showProblem(sentence) {
  const box = find("problem");
  box.hidden = !sentence;
  box.firstElementChild.textContent = sentence ?? "";
}
