// What is kept on this device: the outbox, the copy of a member's own records, and whose device it is.
//
// The outbox is written with strict durability: an entry is on the disk before anything says so.
import { openDB } from "../../vendor/idb/idb.js";

export const WAITING = "waiting"; // goes up when the signal returns
export const ASKS = "asks"; // the answer was no, or something has changed: its grower decides
export const DONE = "done"; // written; shown for a while, so that a number can be copied to its tag

const opened = openDB("seedbank", 1, {
  upgrade(db) {
    db.createObjectStore("outbox", { keyPath: "key" });
    db.createObjectStore("copies", { keyPath: "member.number" });
    db.createObjectStore("device");
  },
});

async function writeOutbox(act) {
  const db = await opened;
  const transaction = db.transaction("outbox", "readwrite", { durability: "strict" });
  await act(transaction.store);
  await transaction.done;
}

export const putEntry = (entry) => writeOutbox((store) => store.put(entry));
export const dropEntry = (key) => writeOutbox((store) => store.delete(key));
export const getEntry = async (key) => (await opened).get("outbox", key);

/** Change what is stored of an entry and return it, or nothing if it is no longer there. */
export async function changeEntry(key, change) {
  let changed;
  await writeOutbox(async (store) => {
    const entry = await store.get(key);
    if (!entry) return;
    changed = { ...entry, ...change };
    await store.put(changed);
  });
  return changed;
}

/** Put an entry in the place of another in one step, if the other may still be changed. */
export async function replaceEntry(oldKey, entry, mayChange) {
  let isReplaced = false;
  await writeOutbox(async (store) => {
    const old = await store.get(oldKey);
    if (!old || !mayChange(old)) return;
    await store.delete(oldKey);
    await store.put(entry);
    isReplaced = true;
  });
  return isReplaced;
}

export async function allEntries() {
  const entries = await (await opened).getAll("outbox");
  return entries.sort((one, other) => one.loggedAt.localeCompare(other.loggedAt));
}

export const getCopy = async (number) => (await opened).get("copies", number);
export const putCopy = async (copy) => (await opened).put("copies", copy);
export const dropCopies = async () => (await opened).clear("copies");

// Which letter this device puts into own numbers, and how far it has come with them. It stays when
// somebody signs out: a number must never be given twice.
const numbersKey = (number) => `numbers ${number}`;
export const getNumbers = async (number) => (await opened).get("device", numbersKey(number));
export const putNumbers = async (number, kept) => (await opened).put("device", kept, numbersKey(number));

export async function nextSerial(number, season) {
  const transaction = (await opened).transaction("device", "readwrite", { durability: "strict" });
  const kept = await transaction.store.get(numbersKey(number));
  const serial = (kept.serials[season] ?? 0) + 1;
  await transaction.store.put({ ...kept, serials: { ...kept.serials, [season]: serial } }, numbersKey(number));
  await transaction.done;
  return serial;
}

export const getMember = async () => (await opened).get("device", "member");
export const putMember = async (member) => (await opened).put("device", member, "member");
export const dropMember = async () => (await opened).delete("device", "member");
