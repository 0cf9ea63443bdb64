// The packing table: a scan is sent without leaving the page, so that the scanner's next number finds
// its field, and it is answered with a sound as well as with words. Without this module the same form
// is sent the ordinary way, and every packet is packed as soon as the server has said so.
import { offerScan } from "../web/js/scan/offer.js";

const RIGHT = [880, 0.09];
const WRONG = [180, 0.5];
let audio = null;

function beep([hertz, seconds]) {
  audio ??= new AudioContext();
  const tone = audio.createOscillator();
  const loudness = audio.createGain();
  tone.frequency.value = hertz;
  tone.type = hertz < 400 ? "square" : "sine";
  loudness.gain.value = 0.2;
  tone.connect(loudness).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + seconds);
}

function say(words) {
  const field = document.querySelector("form.scan .field");
  field.querySelector(".error")?.remove();
  const error = document.createElement("p");
  error.className = "error";
  error.setAttribute("role", "alert");
  error.textContent = words;
  field.append(error);
}

const numberField = () => document.querySelector("form.scan input[name=number]");

function show(page, isRight) {
  // What a quick scanner has typed while the answer was on its way belongs to the next packet.
  const old = numberField();
  const begun = old && old.value !== old.defaultValue ? old.value : "";
  const main = document.getElementById("main");
  main.replaceChildren(...document.adoptNode(page.getElementById("main")).childNodes);
  main.dataset.scanned = isRight ? "right" : "wrong";
  offerScan(main);
  // The number field is ready for the next packet; when all are in, the way on is to close.
  const field = numberField();
  (field ?? main.querySelector("[data-next]"))?.focus();
  if (field && begun) field.value = begun;
  // What was read stays to be looked at; the next scan is typed over it.
  else field?.select();
}

async function send({ action, body }) {
  try {
    const answer = await fetch(action, { method: "POST", body });
    const isRight = answer.ok;
    if (!isRight && answer.status !== 422) throw new Error(answer.statusText);
    const before = document.querySelector("form.scan .error")?.textContent;
    show(new DOMParser().parseFromString(await answer.text(), "text/html"), isRight);
    // The refusal of a scan that others followed at once stays to be read.
    if (isRight && before && waiting.length) say(before);
    beep(isRight ? RIGHT : WRONG);
  } catch {
    say("This scan did not reach the server. What was packed before is packed; scan this one again.");
    const field = numberField();
    if (!field.value) {
      field.value = body.get("number");
      field.select();
    }
    beep(WRONG);
  }
}

// A scanner may be quicker than the line: its numbers wait here, in their order.
const waiting = [];
let isSending = false;
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form.scan")) return;
  event.preventDefault();
  waiting.push({ action: form.action, body: new FormData(form) });
  form.elements.number.value = form.elements.number.defaultValue = "";
  if (isSending) return;
  isSending = true;
  while (waiting.length) await send(waiting.shift());
  isSending = false;
});
