// Any other form that is sent without a signal: what was typed stays on this device and is offered
// again on the form's own page. The form's key stays with it, so that one which has arrived after all
// is not done twice.
const PLACE = "not sent: ";
const ON_ITS_WAY = "on its way";
const LEFT_OUT = new Set(["csrfmiddlewaretoken", "next"]);
const NEVER_KEPT = ["password", "file"];

const address = () => location.pathname + location.search;

function typedIn(form, submitter) {
  const secret = new Set([...form.elements].filter((one) => NEVER_KEPT.includes(one.type)).map((one) => one.name));
  return [...new FormData(form, submitter)].filter(([name]) => !LEFT_OUT.has(name) && !secret.has(name));
}

/** Every form of this page that changes something; those that log go by way of the outbox. */
const isKept = (form) => form.matches("form[method=post]:not([data-entry], #sign-out)");

function titleOf(form) {
  const page = document.querySelector("h1")?.textContent.trim() ?? document.title;
  return form.getAttribute("aria-label") ?? page;
}

const placeOf = (form) => [...document.querySelectorAll("form[method=post]")].indexOf(form);

export function allDrafts(member) {
  const found = [];
  for (const key of Object.keys(localStorage)) {
    if (!key.startsWith(PLACE)) continue;
    const draft = JSON.parse(localStorage.getItem(key));
    if (draft.member === member?.number) found.push({ key, ...draft });
  }
  return found;
}

export const dropDraft = (key) => localStorage.removeItem(key);

/** The page without a signal stands where the answer should have come: what was on its way is not sent. */
export function keepWhatWasOnItsWay() {
  const sent = sessionStorage.getItem(ON_ITS_WAY);
  sessionStorage.removeItem(ON_ITS_WAY);
  if (sent) localStorage.setItem(PLACE + JSON.parse(sent).address, sent);
  return Boolean(sent);
}

function say(words, place) {
  const line = document.createElement("p");
  line.className = "message warning";
  line.setAttribute("role", "status");
  line.textContent = words;
  place.before(line);
  line.scrollIntoView({ block: "nearest" });
}

export function keepDrafts(root, member) {
  // Another page of the server has come: what was on its way has arrived.
  sessionStorage.removeItem(ON_ITS_WAY);
  root.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !isKept(form)) return;
    const draft = {
      member: member.number,
      address: address(),
      place: placeOf(form),
      title: titleOf(form),
      typed: typedIn(form, event.submitter),
      at: new Date().toISOString(),
    };
    if (navigator.onLine) {
      sessionStorage.setItem(ON_ITS_WAY, JSON.stringify(draft));
      localStorage.removeItem(PLACE + draft.address);
      return;
    }
    event.preventDefault();
    localStorage.setItem(PLACE + draft.address, JSON.stringify(draft));
    say("No signal, so this is not sent. What you typed is kept on this device and offered here again.", form);
  });
}

/** On the form's own page: fill it in as it was, and say so. */
export function offerDrafts(root, member) {
  const draft = allDrafts(member).find((one) => one.address === address());
  const form = draft && [...root.querySelectorAll("form[method=post]")][draft.place];
  if (!form || !isKept(form)) return;
  const values = new Map();
  for (const [name, value] of draft.typed) values.set(name, [...(values.get(name) ?? []), value]);
  for (const place of form.elements) {
    if (!place.name || LEFT_OUT.has(place.name) || place.localName === "button") continue;
    const typed = values.get(place.name);
    if (place.type === "checkbox" || place.type === "radio") place.checked = typed?.includes(place.value) ?? false;
    else if (place.localName === "select" && place.multiple) {
      for (const option of place.options) option.selected = typed?.includes(option.value) ?? false;
    } else if (!NEVER_KEPT.includes(place.type) && typed?.length) place.value = typed.shift();
  }
  say("This was filled in without a signal and has not been sent. Look it over and send it.", form);
}
