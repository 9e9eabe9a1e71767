// Reads a plot under a finger or a slider: which reading is nearest, its words, and where the upright line stands. Words and
// places come with the picture.

const of = (holder) => JSON.parse(holder.dataset.readings);

function show(holder, number) {
  const [x, words] = of(holder)[number];
  const slider = holder.querySelector("input");
  slider.value = number;
  slider.setAttribute("aria-valuetext", words);
  holder.querySelector("output").textContent = words;
  const line = holder.querySelector(".cursor");
  line.removeAttribute("hidden");
  line.setAttribute("transform", `translate(${x} 0)`);
}

function nearest(holder, x) {
  const distances = of(holder).map(([at]) => Math.abs(at - x));
  return distances.indexOf(Math.min(...distances));
}

function follow(event) {
  const picture = event.target.closest?.(".read > svg");
  if (!picture || !(event.buttons || event.type === "pointerdown")) return;
  const box = picture.getBoundingClientRect();
  const holder = picture.parentElement;
  show(holder, nearest(holder, ((event.clientX - box.left) / box.width) * Number(holder.dataset.width)));
}

// Follows every plot within an element, those that come later too.
export function readPlots(within) {
  within.addEventListener("input", ({ target }) => {
    const holder = target.closest(".read");
    if (holder) show(holder, Number(target.value));
  });
  within.addEventListener("pointerdown", follow);
  within.addEventListener("pointermove", follow);
}
