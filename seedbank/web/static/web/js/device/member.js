// Whose device this is. Every page from the server says who is signed in; what is private on the
// device goes when that is nobody, or somebody else. The outbox stays: its entries are their grower's.
import { DONE, allEntries, dropCopies, dropEntry, dropMember, getCopy, getMember, putCopy, putMember } from "./store.js";

const FRESH_MS = 2 * 60 * 1000;

/** Drop the copy of somebody's records and what is known of entries that have gone up. */
export async function dropPrivate() {
  await dropCopies();
  for (const entry of await allEntries()) if (entry.state === DONE) await dropEntry(entry.key);
  await dropMember();
}

/** Take note of who a page of the server is shown to. The page without a signal knows nobody. */
export async function noteMember() {
  const { member: number, memberName: name, shell } = document.documentElement.dataset;
  if (shell !== undefined && !number) return getMember();
  const before = await getMember();
  if (before && before.number !== number) await dropPrivate();
  if (!number) return null;
  await putMember({ number, name });
  return { number, name };
}

/** Fetch the member's own records for reading without a signal. */
export async function refreshCopy({ always = false } = {}) {
  const member = await getMember();
  if (!member) return;
  const kept = await getCopy(member.number);
  if (!always && kept && Date.now() - kept.fetchedAt < FRESH_MS) return;
  try {
    const answer = await fetch("/offline/copy/", { redirect: "error" });
    if (!answer.ok) return;
    const copy = await answer.json();
    if (copy.member.number === member.number) await putCopy({ ...copy, fetchedAt: Date.now() });
  } catch {
    // No signal: the copy that is there stays.
  }
}
