// The bench from the device's own copy, with what was logged here since.
import { ownEntries } from "../device/outbox.js";
import { DONE } from "../device/store.js";
import { filled, line, today } from "./fill.js";

const GROUPS = [
  ["here", "Logged here, not gone up yet"],
  ["now", "Look at now"],
  ["seen", "Seen today"],
  ["later", "Can wait"],
];

function card(flower, copy, noted) {
  const item = filled("flower-card", { ...flower, noted, split: flower.split && `Likely to split ${flower.split}.` });
  const form = item.querySelector("form");
  form.dataset.about = flower.about;
  form.dataset.aboutWords = flower.title;
  form.setAttribute("aria-label", `What you see of ${flower.title} today`);
  form.elements.client_key.value = crypto.randomUUID();
  form.elements.seen_on.value = today(copy);
  for (const link of item.querySelectorAll("[data-link]")) {
    const about = link.dataset.link === "harvest" ? flower.cross : flower.about;
    link.href = `#${link.dataset.link}/${encodeURIComponent(about)}`;
    if (!about) link.remove();
  }
  const harvest = item.querySelector("[data-ripe]");
  if (flower.state !== "ripe") harvest.remove();
  item.classList.toggle("urgent", flower.state === "ripe");
  return item;
}

export function flowersHere(copy, entries) {
  const logged = entries
    .filter((entry) => entry.kind === "pollination" && entry.state !== DONE)
    .map((entry) => ({ about: entry.key, title: entry.words, state_words: "waits here", group: "here" }));
  const known = (copy?.flowers ?? []).map((flower) => ({
    ...flower,
    about: flower.number,
    title: `${flower.own_number}: ${flower.formula}`,
  }));
  return [...logged, ...known];
}

export async function showBench(section, copy) {
  const entries = await ownEntries();
  const flowers = flowersHere(copy, entries);
  const place = section.querySelector("[data-groups]");
  const parts = [];
  for (const [group, words] of GROUPS) {
    const rows = flowers.filter((flower) => flower.group === group);
    if (!rows.length) continue;
    const head = document.createElement("h2");
    head.textContent = `${words}: ${rows.length}`;
    const list = document.createElement("ul");
    list.className = "cards";
    for (const flower of rows) {
      const noted = entries.filter((entry) => entry.about === flower.about && entry.state !== DONE);
      const said = noted.map((entry) => entry.words.replace(`${flower.title}: `, "")).join(", ");
      list.append(card(flower, copy, said && `Noted here: ${said}.`));
    }
    parts.push(head, list);
  }
  if (!parts.length) {
    const none = document.createElement("p");
    none.className = "empty";
    none.textContent = copy ? "No flower of yours is open." : "Your records are not on this device yet.";
    parts.push(none);
  }
  place.replaceChildren(...parts);
  showToDo(section.querySelector("[data-to-do]"), copy, entries);
}

/** Seed that waits for a hand: what the copy knows, and what was harvested here since. */
function showToDo(place, copy, entries) {
  const open = entries.filter((entry) => entry.state !== DONE);
  const harvested = open
    .filter((entry) => entry.kind === "harvest")
    .map((entry) => ({ kind: "packets", about: entry.key, words: `Put in packets: ${entry.words}` }));
  const tasks = [...harvested, ...(copy?.to_do ?? [])];
  place.querySelector("ul").replaceChildren(
    ...tasks.map((task) => {
      const item = filled("to-do-row", { words: task.words, about: task.about.length < 20 ? task.about : "" });
      item.querySelector("a").href = `#${task.kind}/${encodeURIComponent(task.about)}`;
      const noted = open.find((entry) => entry.kind === task.kind && entry.about === task.about);
      if (noted) item.append(line(`Noted here: ${noted.words}.`).textContent);
      return item;
    }),
  );
}
