// The forms of the page without a signal: shown ready to fill in, kept in the outbox when sent.
import { entriesOf, renewKeys } from "../device/entries.js";
import { keep, ownEntries, sendWaiting } from "../device/outbox.js";
import { getCopy, getEntry, getMember } from "../device/store.js";
import { flowersHere } from "./bench.js";
import { filled, today } from "./fill.js";

const DAYS = ["pollinated_on", "seen_on", "done_on", "counted_on"];

/** The grower's next number of the season, beyond those given out on this device. */
async function nextOwnNumber(copy) {
  const found = /^(\d\d)-(\d+)$/.exec(copy?.next_own_number ?? "");
  if (!found) return "";
  const given = (await ownEntries()).map((entry) => /^(\d\d)-(\d+)$/.exec(entry.fields.own_number ?? ""));
  const serials = given.filter((one) => one?.[1] === found[1]).map((one) => Number(one[2]) + 1);
  return `${found[1]}-${String(Math.max(Number(found[2]), ...serials)).padStart(2, "0")}`;
}

function offerPlants(copy) {
  const options = (copy?.plants ?? []).map((plant) => {
    const option = document.createElement("option");
    option.value = `${plant.number} ${plant.name_text}`;
    return option;
  });
  document.getElementById("plant-suggestions").replaceChildren(...options);
}

function potRow(pot) {
  const words = `${pot.sowing} pot ${pot.position}, ${pot.name}`;
  const row = filled("pot-row", { words, so_far: `${pot.germinated} of ${pot.seeds} so far` });
  row.dataset.replicate = pot.replicate;
  row.dataset.about = pot.sowing;
  row.dataset.aboutWords = `${pot.sowing} pot ${pot.position}`;
  const place = row.querySelector("input[name=number]");
  place.id = `pot-${pot.replicate}`;
  place.max = pot.seeds;
  row.querySelector("label").htmlFor = place.id;
  return row;
}

/** Show a form for a new entry, or with an entry's own words to change it. */
export async function openForm(section, copy, [about, key]) {
  const form = section.querySelector("form");
  form.reset();
  if (form.dataset.entry === "counts") {
    section.querySelector("[data-pots]").replaceChildren(...(copy?.pots ?? []).map(potRow));
  }
  renewKeys(form);
  for (const name of DAYS) if (form.elements[name]) form.elements[name].value = today(copy);
  if (form.dataset.entry === "pollination") {
    offerPlants(copy);
    form.elements.own_number.value = await nextOwnNumber(copy);
  } else if (form.dataset.entry !== "counts") {
    const flower = flowersHere(copy, await ownEntries()).find((one) => one.about === about);
    form.dataset.about = about ?? "";
    form.dataset.aboutWords = flower?.title ?? about ?? "";
    section.querySelector("[data-about-words]").textContent = form.dataset.aboutWords;
  }
  const entry = key && (await getEntry(key));
  delete form.dataset.replaces;
  if (!entry) return;
  fillIn(form, entry);
  // What is changed is another entry, in the place of this one.
  form.dataset.replaces = key;
}

function fillIn(form, entry) {
  if (form.dataset.entry === "counts") {
    const row = form.querySelector(`[data-replicate="${entry.fields.replicate}"]`);
    form.elements.counted_on.value = entry.fields.counted_on;
    if (!row) return;
    row.querySelector("input[name=number]").value = entry.fields.number;
    return;
  }
  for (const place of form.elements) {
    if (place.type === "checkbox") place.checked = place.name in entry.fields;
    else if (place.type !== "file" && place.name in entry.fields && place.localName !== "button") {
      place.value = entry.fields[place.name];
    }
  }
}

function sayTooLate(form) {
  const words = "It has gone up meanwhile. Correct it on its own page.";
  form.prepend(Object.assign(document.createElement("p"), { className: "message error", role: "alert", textContent: words }));
}

async function log(form, submitter) {
  const entries = await entriesOf(form, submitter);
  const { replaces } = form.dataset;
  for (const entry of entries) {
    // A double tap finds the entry kept already, word for word.
    if (await getEntry(entry.key)) continue;
    const isKept = await keep(entry, { replaces });
    if (!isKept) return sayTooLate(form);
  }
  renewKeys(form);
  if (!entries.length) return;
  const [first] = entries;
  const target = { pollination: `#tag/${first.key}`, count: "#waiting" }[first.kind] ?? "#bench";
  location.hash = target;
  sendWaiting();
}

export function keepForms(root) {
  root.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-entry]")) return;
    event.preventDefault();
    const member = await getMember();
    if (member && (await getCopy(member.number))) await log(form, event.submitter);
  });
}
