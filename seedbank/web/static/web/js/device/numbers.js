// Own numbers given on this device: true from the moment they are on the tag.
//
// The server gives each device of a grower a letter, once; numbers made here carry it (26-A3) and are
// nobody else's, so they are taken as they are. A pair that has a number this season keeps it.
import { allEntries, getMember, getNumbers, nextSerial, putNumbers } from "./store.js";

const cookie = (name) =>
  document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`))?.slice(name.length + 1) ?? "";

/** Have a letter on this device before the signal goes. */
export async function reserveLetter() {
  const member = await getMember();
  if (!member) return;
  const kept = (await getNumbers(member.number)) ?? { device: crypto.randomUUID(), serials: {} };
  if (kept.letter) return;
  // Known before it is asked for: an answer that is lost is the same letter when it is asked again.
  await putNumbers(member.number, kept);
  const body = new FormData();
  body.set("device", kept.device);
  try {
    const headers = { "X-CSRFToken": cookie("csrftoken") };
    const answer = await fetch("/offline/letter/", { method: "POST", body, headers, redirect: "error" });
    if (answer.ok) await putNumbers(member.number, { ...kept, letter: (await answer.json()).letter });
  } catch {
    // No signal: the next page asks again.
  }
}

const numberIn = (text) => /\b[A-Z]\d{6,9}-\d\d\b/.exec(text ?? "")?.[0];

/** Which plant a text means: its number, as far as this device knows it. */
function plantMeant(text, copy) {
  const typed = (text ?? "").replace(/^new plant: /, "").trim().toLowerCase();
  const named = (plant) => [plant.own_label, plant.name_text].some((name) => name?.toLowerCase() === typed);
  return numberIn(text) ?? copy?.plants.find(named)?.number ?? typed;
}

function pairOf(fields, copy) {
  const pollen = fields.pollen || "plant";
  return [plantMeant(fields.seed_parent, copy), pollen === "plant" ? plantMeant(fields.pollen_parent, copy) : pollen];
}

/** The numbers of this season's pairs, from the copy and from what was logged here since. */
async function numbersOfPairs(copy, member, season) {
  const known = new Map();
  const add = (pair, own) => own && !known.has(pair.join()) && known.set(pair.join(), own);
  const oldestFirst = [...(copy?.crosses ?? [])].reverse();
  for (const cross of oldestFirst.filter((one) => one.season === season)) {
    add([cross.seed_parent, cross.pollen === "plant" ? cross.pollen_parent : cross.pollen], cross.own_number);
  }
  for (const entry of await allEntries()) {
    const { fields } = entry;
    if (entry.kind !== "pollination" || entry.member !== member.number) continue;
    if (!fields.pollinated_on?.startsWith(String(season))) continue;
    const pair = pairOf(fields, copy);
    add(pair, fields.own_number);
    add([...pair].reverse(), fields.own_number_back);
  }
  return known;
}

async function nextOwnNumber(member, season) {
  const { letter } = (await getNumbers(member.number)) ?? {};
  if (!letter) return "";
  const year = String(season % 100).padStart(2, "0");
  return `${year}-${letter}${await nextSerial(member.number, season)}`;
}

/** Give a pollination the numbers of its tags; without a letter yet they come when it has gone up. */
export async function numbered(fields, copy) {
  const member = await getMember();
  if (!member || fields.cross || fields.again) return fields;
  const season = Number(fields.pollinated_on?.slice(0, 4));
  if (!season) return fields;
  const known = await numbersOfPairs(copy, member, season);
  const pair = pairOf(fields, copy);
  const given = { ...fields };
  given.own_number ||= known.get(pair.join()) ?? (await nextOwnNumber(member, season));
  if (fields.both_ways && given.own_number) {
    given.own_number_back ||= known.get([...pair].reverse().join()) ?? (await nextOwnNumber(member, season));
  }
  return given;
}
