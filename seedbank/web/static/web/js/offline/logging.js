// The forms of the page without a signal: shown ready to fill in, kept in the outbox when sent.
import { entriesOf, renewKeys } from "../device/entries.js";
import { keep, ownEntries, sendWaiting } from "../device/outbox.js";
import { getCopy, getEntry, getMember } from "../device/store.js";
import { flowersHere } from "./bench.js";
import { filled, today } from "./fill.js";

const DAYS = ["pollinated_on", "seen_on", "done_on", "counted_on", "harvested_on", "sown_on"];

function offer(id, values) {
  const options = (values ?? []).map((value) => Object.assign(document.createElement("option"), { value }));
  document.getElementById(id).replaceChildren(...options);
}

function offerWhatIsKnown(copy) {
  offer("plant-suggestions", copy?.plants.map((plant) => `${plant.number} ${plant.name_text}`));
  offer("packet-suggestions", copy?.packets);
  offer("place-suggestions", copy?.places);
}

/** A place to type the capsules of each flower of a cross that can still bear one. */
function capsuleRows(copy, cross) {
  const flowers = (copy?.flowers ?? []).filter((flower) => flower.cross === cross && flower.open_flowers);
  return flowers.map((flower) => {
    const row = filled("capsules-row", {
      words: `Capsules of ${flower.number}`,
      help: `Pollinated ${flower.pollinated_on}; ${flower.open_flowers} of ${flower.flowers} flowers can still bear one.`,
    });
    const place = row.querySelector("input");
    place.name = place.id = `capsules_${flower.number}`;
    if (flowers.length === 1 && flower.open_flowers === 1) place.value = 1;
    row.querySelector("label").htmlFor = place.id;
    return row;
  });
}

/** What a form is about, in words: a flower, a cross, a harvest or a lot, known here or logged here. */
async function wordsOf(copy, about) {
  const entries = await ownEntries();
  const flower = flowersHere(copy, entries).find((one) => one.about === about);
  const cross = copy?.crosses.find((one) => one.number === about);
  const task = copy?.to_do.find((one) => one.about === about);
  const entry = entries.find((one) => one.key === about);
  const words = flower?.title ?? (cross && `${cross.own_number}: ${cross.formula}`) ?? task?.words ?? entry?.words;
  return words ?? about ?? "";
}

/** What is known already of the seed that is put in packets or sown. */
function startOf(copy, kind, about, entries) {
  const task = copy?.to_do.find((one) => one.kind === kind && one.about === about);
  if (task) return task.fields;
  const harvest = entries.find((one) => one.key === about && one.kind === "harvest");
  const cross = copy?.crosses.find((one) => one.number === harvest?.about);
  if (kind === "packets" && cross) return { name_text: cross.formula };
  return kind === "sowing" && /^S\d/.test(about ?? "") ? { packet: about } : {};
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
  offerWhatIsKnown(copy);
  form.querySelector("[data-refusal]")?.remove();
  if (form.dataset.entry === "harvest") {
    const rows = capsuleRows(copy, about);
    section.querySelector("[data-capsules]").replaceChildren(...rows);
    section.querySelector("[data-none]").hidden = rows.length > 0;
  }
  const place = section.querySelector("p[data-about-words]");
  if (place) {
    form.dataset.about = about === "new" ? "" : (about ?? "");
    form.dataset.aboutWords = await wordsOf(copy, form.dataset.about);
    place.textContent = form.dataset.aboutWords;
    const start = startOf(copy, form.dataset.entry, about, await ownEntries());
    for (const [name, value] of Object.entries(start)) form.elements[name].value = value;
  }
  const entry = key && (await getEntry(key));
  delete form.dataset.replaces;
  if (!entry) return;
  fillIn(form, entry);
  sayWhyItAsked(form, entry);
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

/** A refused entry is changed with its reason in sight. */
function sayWhyItAsked(form, entry) {
  if (!entry.answer?.words) return;
  const line = document.createElement("p");
  Object.assign(line, { className: "message error", textContent: entry.answer.words });
  line.setAttribute("role", "alert");
  line.dataset.refusal = "";
  form.prepend(line);
  const [name] = Object.keys(entry.answer.errors ?? {});
  const place = name && form.elements[name];
  if (!place?.focus) return;
  place.closest("details")?.setAttribute("open", "");
  place.focus();
}

function sayTooLate(form) {
  const words = "It has gone up meanwhile. Correct it on its own page.";
  form.prepend(Object.assign(document.createElement("p"), { className: "message error", role: "alert", textContent: words }));
}

async function log(form, submitter) {
  // Nothing here waits for an answer, so a number is given here even if the signal has come back.
  const entries = await entriesOf(form, submitter, { isOffLine: true });
  const { replaces } = form.dataset;
  // What is changed keeps its key: what belongs to it still does.
  if (replaces && entries.length === 1) entries[0].key = replaces;
  for (const entry of entries) {
    // A double tap finds the entry kept already, word for word.
    if (!replaces && (await getEntry(entry.key))) continue;
    const isKept = await keep(entry, { replaces });
    if (!isKept) return sayTooLate(form);
  }
  renewKeys(form);
  if (!entries.length) return;
  const [first] = entries;
  const target = { pollination: `#tag/${first.key}`, check: "#bench", "touch-up": "#bench" }[first.kind] ?? "#waiting";
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
