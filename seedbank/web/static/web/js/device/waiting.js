// Says in the head of every page how many entries wait, and asks before signing out leaves some behind.
import { allDrafts, dropDraft } from "./drafts.js";
import { dropPrivate } from "./member.js";
import { onChange, ownEntries } from "./outbox.js";
import { ASKS, DONE, dropEntry, getMember } from "./store.js";

async function show(place) {
  const entries = await ownEntries();
  const open = entries.filter((entry) => entry.state !== DONE);
  const asking = open.filter((entry) => entry.state === ASKS).length;
  const drafts = allDrafts(await getMember()).length;
  place.hidden = open.length + drafts === 0;
  place.classList.toggle("asks", asking > 0);
  const unsent = drafts ? [`${drafts} not sent`] : [];
  const words = asking ? `${open.length} not gone up, ${asking} ask you` : `${open.length} waiting`;
  place.textContent = [...(open.length ? [words] : []), ...unsent].join(", ");
}

export function showWaiting() {
  const place = document.getElementById("not-gone-up");
  if (!place) return;
  onChange(() => show(place));
  show(place);
}

function ask(count) {
  const dialog = document.createElement("dialog");
  dialog.setAttribute("aria-labelledby", "leave-words");
  const words = document.createElement("p");
  words.id = "leave-words";
  words.textContent =
    `${count} of your entries ${count === 1 ? "has" : "have"} not gone up yet. Kept here, they go up when you` +
    " sign in on this device again; nobody else can read or send them.";
  const form = document.createElement("form");
  form.method = "dialog";
  form.className = "actions";
  for (const [value, label, look] of [
    ["keep", "Keep them and sign out", ""],
    ["stay", "Stay signed in", "second"],
    ["lose", "Lose them and sign out", "danger"],
  ]) {
    const button = document.createElement("button");
    Object.assign(button, { value, textContent: label, className: look });
    form.append(button);
  }
  dialog.append(words, form);
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) =>
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue || "stay");
    }),
  );
}

/** On signing out everything private leaves the device; the unsent outbox only if its grower says so. */
export function askBeforeSigningOut() {
  const form = document.getElementById("sign-out");
  form?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const open = (await ownEntries()).filter((entry) => entry.state !== DONE);
    const drafts = allDrafts(await getMember());
    const count = open.length + drafts.length;
    const choice = count ? await ask(count) : "keep";
    if (choice === "stay") return;
    if (choice === "lose") {
      for (const entry of open) await dropEntry(entry.key);
      for (const draft of drafts) dropDraft(draft.key);
    }
    await dropPrivate();
    form.submit();
  });
}
