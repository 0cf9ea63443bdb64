// Logging with a thumb: buttons that fill a place in, and a minus and a plus beside a number.

for (const group of document.querySelectorAll(".fills")) {
  group.hidden = false;
  group.addEventListener("click", (event) => {
    const button = event.target.closest("[data-fills]");
    if (!button) return;
    const input = document.getElementById(button.dataset.fills);
    input.value = button.value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

// Which button stands for what the place holds now, whether it was tapped, typed or scanned.
function mark() {
  for (const button of document.querySelectorAll("[data-fills]")) {
    const isMeant = document.getElementById(button.dataset.fills).value === button.value;
    button.setAttribute("aria-pressed", isMeant);
  }
}
document.addEventListener("input", mark);
mark();

function step(input, by, sign, words) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "second";
  // In words of its own, and not a label: the place beside it bears that.
  const said = document.createElement("span");
  said.className = "visually-hidden";
  said.textContent = `${words}: ${input.labels[0].firstChild.textContent.trim()}`;
  const shown = document.createElement("span");
  shown.setAttribute("aria-hidden", true);
  shown.textContent = sign;
  button.append(said, shown);
  button.addEventListener("click", () => {
    const wanted = (Number(input.value) || 0) + by;
    input.value = Math.min(Math.max(wanted, Number(input.min)), Number(input.max));
  });
  return button;
}

for (const input of document.querySelectorAll("[data-stepper]")) {
  const [less, more] = [step(input, -1, "−", "One less"), step(input, 1, "+", "One more")];
  const line = document.createElement("span");
  line.className = "stepper";
  input.replaceWith(line);
  line.append(less, input, more);
}
