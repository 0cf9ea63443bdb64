// Gives every input with `data-scan` a camera button, and makes it understand a keyboard scanner.
//
// `data-scan` alone fills the input; `data-scan="submit"` also sends its form. What is read may be a
// whole address (the codes on tags and labels are) or a bare number: the number is what is filled in.
import { readWithCamera } from "./camera.js";

export function numberIn(text) {
  const read = text.trim();
  if (!/^https?:\/\//i.test(read)) return read;
  return decodeURIComponent(read.replace(/[?#].*$/, "").replace(/\/+$/, "").split("/").pop());
}

// After a scan the next place is wanted, not the button that sends a half-filled form.
function placeAfter(input) {
  const places = [...(input.form?.elements ?? [])].filter(
    (place) => place.matches("input:not([type=hidden]), select, textarea") && place.checkVisibility(),
  );
  return places[places.indexOf(input) + 1];
}

function fill(input, text) {
  input.value = numberIn(text);
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
  if (input.dataset.scan === "submit" && input.form) input.form.requestSubmit();
  else (placeAfter(input) ?? input).focus();
}

function cameraButton(input) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "second scan-button";
  const label = input.labels?.[0]?.firstChild?.textContent.trim();
  const words = document.createElement("span");
  words.className = "visually-hidden";
  words.textContent = label ? `Scan a code: ${label}` : "Scan a code";
  button.append(words);
  button.addEventListener("click", async () => {
    const text = await readWithCamera();
    if (text === null) button.focus();
    else fill(input, text);
  });
  return button;
}

// A keyboard scanner types and presses Enter. Where the number is the last place of its form, Enter
// sends it as ever; before that it leads to the next place.
function understandScanner(input) {
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !input.value) return;
    if (input.dataset.scan === "submit" || !placeAfter(input)) {
      input.value = numberIn(input.value);
      return;
    }
    event.preventDefault();
    fill(input, input.value);
  });
}

export function offerScan(root) {
  const hasCamera = Boolean(navigator.mediaDevices?.getUserMedia);
  for (const input of root.querySelectorAll("input[data-scan]:not([data-scan-ready])")) {
    input.dataset.scanReady = "";
    understandScanner(input);
    if (!hasCamera) continue;
    // Before the input is moved: outside the page it has no label.
    const button = cameraButton(input);
    const isFirst = input.autofocus || document.activeElement === input;
    const line = document.createElement("span");
    line.className = "scan-line";
    input.replaceWith(line);
    line.append(input, button);
    if (isFirst) input.focus();
  }
}
