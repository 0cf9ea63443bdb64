// The outbox in words: what waits, what has gone up, and what asks its grower, with both versions.
import { allDrafts, dropDraft } from "../device/drafts.js";
import { agree, choose, giveUp, isFree, ownEntries, sendWaiting, whatStops } from "../device/outbox.js";
import { ASKS, DONE, WAITING, allEntries, getMember } from "../device/store.js";
import { filled } from "./fill.js";

const KINDS = {
  pollination: "Pollination",
  check: "Look",
  "touch-up": "Touch-up",
  count: "Count",
  harvest: "Harvest",
  packets: "Packets",
  "lot-packets": "Packets",
  sowing: "Sowing",
  plant: "Plant",
  withdrawal: "Withdrawal",
};
const DAYS = ["pollinated_on", "seen_on", "done_on", "counted_on", "harvested_on", "sown_on"];

function stateWords(entry) {
  if (entry.state === DONE) return "gone up";
  if (entry.state === ASKS) return "asks you";
  return entry.sent ? "sent, not answered yet" : "waits";
}

function paragraphs(lines) {
  return lines.map((text) => Object.assign(document.createElement("p"), { textContent: text }));
}

function wrote(entry, moment) {
  const day = DAYS.map((name) => entry.fields[name]).find(Boolean);
  const said = [`${entry.words}.`, `${day ? `For ${day}, logged` : "Logged"} ${moment(entry.loggedAt)}.`];
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
  item.querySelector("[data-choices]").replaceChildren(...(entry.state === ASKS ? choicesOf(entry) : []));
  const acts = {
    open: entry.state === DONE && ((place) => (place.href = entry.answer.address)),
    change: isFree(entry) && ((place) => (place.onclick = () => (location.hash = changeAddress(entry)))),
    agree: entry.state === ASKS && entry.answer?.may_agree && ((place) => (place.onclick = () => agree(entry.key))),
    drop: isFree(entry) && ((place) => (place.onclick = () => askFirst(place, () => giveUp(entry.key)))),
  };
  for (const place of item.querySelectorAll("[data-act]")) {
    const ready = acts[place.dataset.act];
    if (ready) ready(place);
    else place.remove();
  }
  return item;
}

/** What could have been meant, as the ordinary form offers it; and a word for what the grower typed. */
function choicesOf(entry) {
  return Object.entries(entry.answer?.choices ?? {}).flatMap(([name, choices]) =>
    choices.map(([value, words]) => {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: words });
      button.className = "second";
      button.onclick = () => choose(entry.key, name, value);
      return button;
    }),
  );
}

/** A form that is not one of the bench: what was typed, and the way to its own page. */
function draftCard(draft, { moment, again }) {
  const item = filled("draft-card", { title: draft.title, when: moment(draft.at) });
  const typed = draft.typed.filter(([name, value]) => value && !/key|version/.test(name));
  item.querySelector("[data-list=typed]").replaceChildren(...paragraphs(typed.map(([, value]) => value)));
  item.querySelector("[data-act=fill]").href = draft.address;
  const drop = item.querySelector("[data-act=drop]");
  drop.onclick = () => askFirst(drop, () => (dropDraft(draft.key), again()));
  return item;
}

function changeAddress(entry) {
  return `#${entry.kind}/${encodeURIComponent(entry.about || "new")}/${entry.key}`;
}

/** Nothing logged is given up by one slip of the thumb. */
function askFirst(button, act) {
  if (button.dataset.asked !== undefined) return act();
  button.dataset.asked = "";
  button.textContent = "Give it up for good? Press again";
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
  const again = () => showEntries(section, copy, rest, { moment });
  const drafts = allDrafts(await getMember());
  section.querySelector("[data-drafts]").hidden = !drafts.length;
  section
    .querySelector("[data-drafts] ul")
    .replaceChildren(...drafts.map((draft) => draftCard(draft, { moment, again })));
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
