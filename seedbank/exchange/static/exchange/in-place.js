/* A form with data-in-place="part other-part" is sent without leaving the page: the parts named are
   taken from the page the server answers with. Without script the same page is simply loaded. */

const told = document.createElement("p");
told.className = "told";
told.setAttribute("role", "status");
document.getElementById("main").prepend(told);

// One after the other: a second tap builds on what the first one saved.
let waiting = Promise.resolve();
let sends = 0;

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.inPlace) return;
  event.preventDefault();
  const fields = new FormData(form, event.submitter);
  // Two quick presses of one button are two steps: the page they were made on has one key for both.
  if (fields.has("form_key")) fields.set("form_key", `${fields.get("form_key")}-${++sends}`);
  const sent = {
    address: form.action,
    fields,
    parts: form.dataset.inPlace.split(" "),
    key: event.submitter?.dataset.key ?? document.activeElement?.id ?? "",
  };
  waiting = waiting.then(() => send(sent)).catch(() => {
    tell("Not saved: the server does not answer. Try again in a moment.", true);
  });
});

async function send({ address, fields, parts, key }) {
  const answer = await fetch(address, { method: "POST", body: fields });
  // A refusal is a page too: it says what is wrong.
  if (!answer.ok && ![409, 422].includes(answer.status)) throw new Error(answer.status);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = parts.map((part) => page.getElementById(part));
  if (fresh.every((part) => part === null)) {
    location.assign(answer.url);
    return;
  }
  for (const part of fresh) {
    if (part) document.getElementById(part.id)?.replaceWith(document.adoptNode(part));
  }
  const messages = [...page.querySelectorAll("main > .message")];
  const held = focusOn(key);
  const words = messages.map((message) => message.textContent.trim()).join(" ");
  tell(words || held?.closest("[data-told]")?.dataset.told || "Saved.", messages.some(
    (message) => message.classList.contains("error")));
  document.dispatchEvent(new CustomEvent("in-place"));
}

/* Keep the finger and the keyboard where they were: on the same button of the same line. */
function focusOn(key) {
  if (!key) return null;
  const [way, line] = key.split(":");
  const same = document.querySelector(`[data-key="${CSS.escape(key)}"]:not(:disabled)`)
    ?? document.getElementById(key)
    ?? document.querySelector(`[data-key="${way === "up" ? "down" : "up"}:${CSS.escape(line ?? "")}"]:not(:disabled)`)
    ?? document.getElementById(`line-${line}`)?.querySelector("a, button");
  same?.focus({ preventScroll: true });
  same?.scrollIntoView({ block: "nearest" });
  return same;
}

function tell(words, isError = false) {
  told.textContent = words;
  told.classList.toggle("message", isError);
  told.classList.toggle("error", isError);
  told.classList.toggle("visually-hidden", !isError);
}
