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

function show(page, isRight) {
  const main = document.getElementById("main");
  main.replaceChildren(...document.adoptNode(page.getElementById("main")).childNodes);
  main.dataset.scanned = isRight ? "right" : "wrong";
  offerScan(main);
  // The number field is ready for the next packet; when all are in, the way on is to close.
  const next = main.querySelector("form.scan input[name=number], [data-next]");
  next?.focus();
  // What was read stays to be looked at; the next scan is typed over it.
  next?.select?.();
}

async function send(form) {
  try {
    const answer = await fetch(form.action, { method: "POST", body: new FormData(form) });
    const isRight = answer.ok;
    if (!isRight && answer.status !== 422) throw new Error(answer.statusText);
    show(new DOMParser().parseFromString(await answer.text(), "text/html"), isRight);
    beep(isRight ? RIGHT : WRONG);
  } catch {
    say("This scan did not reach the server. What was packed before is packed; scan this one again.");
    form.elements.number.select();
    beep(WRONG);
  }
}

let isSending = false;
document.addEventListener("submit", async (event) => {
  if (!event.target.matches("form.scan")) return;
  event.preventDefault();
  // A scanner may be quicker than the line; the packet in the hand waits for its answer.
  if (isSending) return;
  isSending = true;
  await send(event.target);
  isSending = false;
});
