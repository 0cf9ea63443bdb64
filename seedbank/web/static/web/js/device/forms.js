// Sends the forms that log something by way of the outbox: first on the disk, then up.
//
// With a signal the grower notices nothing: the answer leads to the next page, and what a rule refuses
// is shown by the ordinary form. Without one the entry waits, and the page without a signal says so.
import { entriesOf, renewKeys } from "./entries.js";
import { keep, sendWaiting } from "./outbox.js";
import { ASKS, DONE, dropEntry, getEntry } from "./store.js";

const PATIENCE_MS = 6000;

function sendAsEver(form, submitter) {
  if (submitter?.name) {
    const hidden = document.createElement("input");
    Object.assign(hidden, { type: "hidden", name: submitter.name, value: submitter.value });
    form.append(hidden);
  }
  form.submit();
}

/** Where the form's page wants one to go on; an address of this site only. */
function nextOf(form) {
  const next = form.elements.namedItem("next")?.value ?? "";
  return /^\/(?!\/)/.test(next) ? next : "";
}

function sayHere(words) {
  const line = document.createElement("p");
  line.className = "message";
  line.setAttribute("role", "status");
  document.getElementById("main").prepend(line);
  line.textContent = words;
  line.scrollIntoView({ block: "nearest" });
}

/** Nothing can be asked without a signal; what is typed stays where it is. */
function sayAsksNothing(event) {
  if (navigator.onLine) return;
  event.preventDefault();
  sayHere("No signal, so this cannot be asked now. What you typed stays here.");
}

function goWithoutSignal(entries) {
  const [first] = entries;
  if (!navigator.serviceWorker?.controller) {
    sayHere("No signal. It is kept on this device and goes up by itself; leave this page open.");
    return;
  }
  location.assign(first.kind === "pollination" ? `/offline/#tag/${first.key}` : "/offline/#waiting");
}

async function log(form, submitter) {
  const entries = await entriesOf(form, submitter);
  if (!entries.length) return sendAsEver(form, submitter);
  try {
    for (const entry of entries) if (!(await getEntry(entry.key))) await keep(entry);
  } catch {
    // A private window, or a full disk: nothing can be kept here.
    return sendAsEver(form, submitter);
  }
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS));
  await Promise.race([sendWaiting({ say: new Set(entries.map(({ key }) => key)) }), late]);
  const kept = await Promise.all(entries.map(({ key }) => getEntry(key)));
  if (kept.some((entry) => entry?.state === ASKS)) {
    // Its grower is here and sees the form: what was refused is said there, with everything as typed.
    for (const entry of kept) if (entry?.state === ASKS) await dropEntry(entry.key);
    return sendAsEver(form, submitter);
  }
  renewKeys(form);
  if (kept.every((entry) => entry?.state === DONE)) {
    return location.assign(nextOf(form) || kept[0].answer.address);
  }
  return goWithoutSignal(entries);
}

export function logByOutbox(root) {
  root.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-entry]") || event.defaultPrevented) return;
    // A round past the pots is answered pot by pot on its own page, so with a signal it goes as ever.
    if (form.dataset.entry === "counts" && navigator.onLine) return;
    if (event.submitter?.dataset.asks !== undefined) return sayAsksNothing(event);
    event.preventDefault();
    if (form.ariaBusy === "true") return;
    form.ariaBusy = "true";
    try {
      await log(form, event.submitter);
    } finally {
      form.ariaBusy = "false";
    }
  });
}
