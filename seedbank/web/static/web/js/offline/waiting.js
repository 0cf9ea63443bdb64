// The outbox in words: what waits, what has gone up, and what asks its grower, with both versions.
import { agree, giveUp, isFree, ownEntries, sendWaiting, whatStops } from "../device/outbox.js";
import { ASKS, DONE, WAITING, allEntries } from "../device/store.js";
import { filled } from "./fill.js";

const KINDS = { pollination: "Pollination", check: "Look", "touch-up": "Touch-up", count: "Count" };

function stateWords(entry) {
  if (entry.state === DONE) return "gone up";
  if (entry.state === ASKS) return "asks you";
  return entry.sent ? "sent, not answered yet" : "waits";
}

function paragraphs(lines) {
  return lines.map((text) => Object.assign(document.createElement("p"), { textContent: text }));
}

function wrote(entry, moment) {
  const days = ["pollinated_on", "seen_on", "done_on", "counted_on"].map((name) => entry.fields[name]);
  const said = [`${entry.words}.`, `For ${days.find(Boolean)}, logged ${moment(entry.loggedAt)}.`];
  if (entry.fields.note) said.push(entry.fields.note);
  return [...said, ...Object.entries(entry.seen).map(([, name]) => `Shown here then: ${name}.`)];
}

function card(entry, { moment }) {
  const item = filled("entry-card", {
    kind: KINDS[entry.kind],
    when: moment(entry.loggedAt),
    state: stateWords(entry),
    words: entry.words,
    answer: entry.answer?.words,
  });
  const stands = entry.answer?.stands ?? [];
  if (entry.state === ASKS && stands.length) {
    item.querySelector("[data-sides]").hidden = false;
    item.querySelector("[data-list=wrote]").replaceChildren(...paragraphs(wrote(entry, moment)));
    item.querySelector("[data-list=stands]").replaceChildren(...paragraphs(stands));
  }
  const acts = {
    open: entry.state === DONE && ((place) => (place.href = entry.answer.address)),
    change: isFree(entry) && ((place) => (place.onclick = () => (location.hash = changeAddress(entry)))),
    agree: entry.state === ASKS && ((place) => (place.onclick = () => agree(entry.key))),
    drop: isFree(entry) && ((place) => (place.onclick = () => askThenDrop(entry, place))),
  };
  for (const place of item.querySelectorAll("[data-act]")) {
    const ready = acts[place.dataset.act];
    if (ready) ready(place);
    else place.remove();
  }
  return item;
}

function changeAddress(entry) {
  return `#${entry.kind}/${encodeURIComponent(entry.about || "new")}/${entry.key}`;
}

/** Nothing logged is given up by one slip of the thumb. */
function askThenDrop(entry, button) {
  if (button.dataset.asked === undefined) {
    button.dataset.asked = "";
    button.textContent = "Give it up for good? Press again";
    return;
  }
  giveUp(entry.key);
}

export async function showEntries(section, copy, rest, { moment }) {
  const entries = await ownEntries();
  const open = entries.filter((entry) => entry.state !== DONE);
  const waiting = open.filter((entry) => entry.state === WAITING).length;
  const asking = open.length - waiting;
  const said = [
    open.length ? `${waiting} waiting` : entries.length ? "Everything has gone up." : "Nothing waits.",
    asking && `${asking} ask${asking === 1 ? "s" : ""} you`,
  ].filter(Boolean);
  section.querySelector("[data-state]").textContent =
    `${said.join(", ")}${open.length ? "." : ""} ${(waiting && whatStops()) || ""}`.trim();
  const send = section.querySelector("[data-send]");
  send.hidden = !waiting;
  send.onclick = () => sendWaiting();
  const order = [ASKS, WAITING, DONE];
  entries.sort((one, other) => order.indexOf(one.state) - order.indexOf(other.state));
  section.querySelector("[data-entries]").replaceChildren(...entries.map((entry) => card(entry, { moment })));
  const others = new Map();
  for (const entry of await allEntries()) {
    if (entry.state !== DONE && !entries.some((one) => one.key === entry.key)) {
      others.set(entry.memberName, (others.get(entry.memberName) ?? 0) + 1);
    }
  }
  const place = section.querySelector("[data-others]");
  place.hidden = !others.size;
  place.textContent = [...others]
    .map(([name, count]) => `${count} of ${name} wait here too, and go up when ${name} signs in on this device.`)
    .join(" ");
}
