// Reads a filled-in form as entries for the outbox.
//
// The contract with the pages: a form that logs something has
//   data-entry="pollination | check | touch-up | harvest | packets | lot-packets | sowing | count |
//               plant | withdrawal"   which of the ordinary forms it is
//   data-about="F000123-45"           the record it is about, if any
// A button with data-asks asks something and logs nothing: it is sent as ever. And the fields of that form with its `client_key`. `data-entry="counts"` is a round past the pots:
// each row with data-replicate and data-about holds one number and one key, the day and the way of
// counting stand above. Without script, or where the device keeps nothing, the form is sent as ever.
import { numbered } from "./numbers.js";
import { getCopy, getEntry, getMember } from "./store.js";

const NOT_TYPED = new Set(["csrfmiddlewaretoken", "form_key", "client_key", "next"]);

function typedIn(form, submitter) {
  const fields = {};
  for (const [name, value] of new FormData(form, submitter)) {
    const isNoFile = value instanceof File && value.size === 0;
    if (!NOT_TYPED.has(name) && !isNoFile) fields[name] = value;
  }
  return fields;
}

const numberIn = (text) => /\b[A-Z]\d{6,9}-\d\d\b/.exec(text ?? "")?.[0];
// A suggestion is a number and a name; in words the name is enough.
const nameIn = (text) => (text ?? "").replace(/^[A-Z]\d{6,9}-\d\d\s+/, "");

/** The names of the plants as this device shows them: a tag is written with them. */
async function namesSeen(fields) {
  const copy = await getCopy((await getMember())?.number);
  const seen = {};
  for (const place of ["seed_parent", "pollen_parent"]) {
    const plant = copy?.plants.find((one) => one.number === numberIn(fields[place]));
    if (plant) seen[place] = plant.name_text;
  }
  return seen;
}

async function crossWords(number) {
  const copy = await getCopy((await getMember())?.number);
  const cross = copy?.crosses.find((one) => one.number === number);
  return cross ? `${cross.own_number}: ${cross.formula}` : number;
}

async function pollinationWords(fields, seen) {
  const flowers = `${fields.flowers} flower${fields.flowers === "1" ? "" : "s"}`;
  const cross = fields.again || numberIn(fields.cross);
  if (cross) return `${await crossWords(cross)}, ${flowers}`;
  const seedParent = seen.seed_parent ?? nameIn(fields.seed_parent);
  const pollenParent = seen.pollen_parent ?? nameIn(fields.pollen_parent);
  const ways = fields.both_ways ? ", both ways" : "";
  return `${seedParent} × ${pollenParent || fields.pollen}, ${flowers}${ways}`;
}

function capsulesIn(fields) {
  const numbers = Object.entries(fields).filter(([name]) => name.startsWith("capsules_"));
  return numbers.reduce((sum, [, number]) => sum + (Number(number) || 0), 0);
}

const counted = (number, noun) => `${number} ${noun}${Number(number) === 1 ? "" : "s"}`;
const inPackets = (fields) => (fields.how_many ? counted(fields.how_many, "packet") : "loose");

/** The two plants of a pollination as they are written on its tags. */
function parentsOf(fields, seen) {
  const named = (place) => seen[place] ?? nameIn(fields[place]).replace(/^new plant: /, "");
  return [named("seed_parent"), named("pollen_parent") || fields.pollen];
}

async function single(form, submitter, { isOffLine }) {
  const typed = typedIn(form, submitter);
  // The number on a tag has to be known at once; with a signal the server gives it.
  const isNew = form.dataset.entry === "pollination" && isOffLine;
  const fields = isNew ? await numbered(typed, await getCopy((await getMember())?.number)) : typed;
  const { entry: kind, about = "", aboutWords = about } = form.dataset;
  const place = form.elements.namedItem("client_key");
  const seen = kind === "pollination" ? await namesSeen(fields) : {};
  const words = {
    pollination: () => pollinationWords(fields, seen),
    "touch-up": () => `${aboutWords}: touch-up, ${fields.pollen_state} pollen`,
    check: () => `${aboutWords}: ${submitter?.textContent.trim() ?? fields.kind}`,
    count: () => `${aboutWords}: ${fields.number} counted`,
    harvest: () => `${aboutWords}: ${counted(capsulesIn(fields), "capsule")} taken in`,
    packets: () => `${aboutWords}: ${inPackets(fields)}`,
    "lot-packets": () => `${aboutWords}: ${inPackets(fields)}`,
    sowing: () => `${fields.packet}: ${counted(fields.seeds_sown, "seed")} sown`,
    plant: () => `New plant ${fields.name_text || fields.own_label}`,
    withdrawal: () => `${aboutWords}: withdrawn, ${fields.reason}`,
  }[kind];
  const parents = kind === "pollination" ? parentsOf(fields, seen) : [];
  return { key: await freshKey(place, fields, typed), kind, about, words: await words(), fields, seen, parents };
}

async function rows(form) {
  const day = form.elements.namedItem("counted_on").value;
  const typedAs = new FormData(form).get("typed_as");
  const entries = [];
  for (const row of form.querySelectorAll("[data-replicate]")) {
    const number = row.querySelector("input[name$=number]").value.trim();
    if (number === "") continue;
    const { replicate, about, aboutWords } = row.dataset;
    const fields = { replicate, counted_on: day, number, typed_as: typedAs };
    const key = await freshKey(row.querySelector("input[name$=client_key]"), fields);
    entries.push({ key, kind: "count", about, words: `${aboutWords}: ${number} counted`, fields });
  }
  return entries;
}

/** The form's own key, so that a double tap is one entry; another if it stands for something else. */
async function freshKey(place, fields, typed = fields) {
  if (!place) return crypto.randomUUID();
  const kept = place.value && (await getEntry(place.value));
  // A second tap gives the same form the same numbers.
  if (kept && Object.entries(typed).every(([name, value]) => !value || kept.fields[name] === value)) {
    return place.value;
  }
  const isAnother = kept && JSON.stringify(kept.fields) !== JSON.stringify(fields);
  if (!place.value || isAnother) place.value = crypto.randomUUID();
  return place.value;
}

/** Give a form new keys, so that what is typed next is another entry. */
export function renewKeys(form) {
  for (const place of form.querySelectorAll("input[name$=client_key]")) place.value = crypto.randomUUID();
}

export async function entriesOf(form, submitter, { isOffLine = !navigator.onLine } = {}) {
  return form.dataset.entry === "counts" ? rows(form) : [await single(form, submitter, { isOffLine })];
}
