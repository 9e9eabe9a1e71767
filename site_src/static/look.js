// Puts what the engine says of a set-up into the page: drawing, notes and the rest, wherever the page has a place for it.
import { find } from "./place.js";

export function showLook(look) {
  for (const part of ["drawing", "notes", "summary", "missing"]) {
    if (find(part)) find(part).innerHTML = look[part];
  }
  find("notes-box").hidden = !look.notes.trim();
}

export function showProblem(sentence) {
  const box = find("problem");
  const isNew = box.firstElementChild.textContent !== (sentence ?? "");
  box.hidden = !sentence;
  box.firstElementChild.textContent = sentence ?? "";
  if (sentence && isNew) box.scrollIntoView({ block: "center" });
}
