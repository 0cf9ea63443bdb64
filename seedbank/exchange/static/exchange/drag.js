/* Wishes can be dragged by their handle; the arrows and the number of the place do the same. */

const list = () => document.getElementById("wish-list");
const NEAR_THE_EDGE = 70;
const SCROLL_BY = 14;

function showHandles() {
  for (const handle of list()?.querySelectorAll(".drag") ?? []) handle.hidden = false;
}

document.addEventListener("in-place", showHandles);
showHandles();

document.addEventListener("pointerdown", (event) => {
  const handle = event.target.closest?.(".drag");
  if (!handle || event.button > 0) return;
  event.preventDefault();
  const row = handle.closest("li");
  const others = [...list().querySelectorAll("li[data-line]")].filter((other) => other !== row);
  // A mark goes where the wish would; the row itself stays, or it would let go of the pointer.
  const mark = document.createElement("li");
  mark.className = "mark";
  let place = 0;
  handle.setPointerCapture(event.pointerId);
  row.classList.add("dragged");

  const move = (at) => {
    const below = others.findIndex((other) => {
      const box = other.getBoundingClientRect();
      return at.clientY < box.top + box.height / 2;
    });
    place = below === -1 ? others.length + 1 : below + 1;
    list().insertBefore(mark, others[below] ?? null);
    if (at.clientY < NEAR_THE_EDGE) window.scrollBy(0, -SCROLL_BY);
    if (at.clientY > window.innerHeight - NEAR_THE_EDGE) window.scrollBy(0, SCROLL_BY);
  };
  const stop = (ended) => {
    handle.removeEventListener("pointermove", move);
    row.classList.remove("dragged");
    mark.remove();
    if (ended.type === "pointercancel" || place === 0) return;
    const form = document.getElementById("drag-form");
    form.elements.lines.value = row.dataset.line;
    form.elements.place.value = place;
    form.requestSubmit();
  };
  handle.addEventListener("pointermove", move);
  handle.addEventListener("pointerup", stop, { once: true });
  handle.addEventListener("pointercancel", stop, { once: true });
});
