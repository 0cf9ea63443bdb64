// The outbox: entries logged on this device, each with a key of its own, sent until they are answered.
//
// An entry belongs to the member who logged it and is sent only while that member is signed in. The
// server makes one record of a key however often it comes, so a lost answer is simply asked for again.
import { refreshCopy } from "./member.js";
import {
  ASKS,
  DONE,
  WAITING,
  allEntries,
  changeEntry,
  dropEntry,
  getEntry,
  getMember,
  putEntry,
  replaceEntry,
} from "./store.js";

const PATIENCE_MS = 20000;
const KEEP_DONE_MS = 36 * 3600 * 1000;
const changes = new BroadcastChannel("outbox");
const here = new EventTarget();

/** Call back whenever the outbox changes, in this window or another. */
export function onChange(callback) {
  here.addEventListener("change", callback);
  changes.addEventListener("message", callback);
}

export function tell() {
  here.dispatchEvent(new Event("change"));
  changes.postMessage("change");
}

/**
 * Write an entry to the disk; resolves once it is there. With `replaces` it takes the place of another,
 * and false says that the other has gone up meanwhile.
 */
export async function keep({ key, kind, about, words, fields, seen, parents }, { replaces } = {}) {
  const member = await getMember();
  if (!member) throw new Error("Nobody is signed in on this device.");
  navigator.storage?.persist?.();
  const entry = {
    key,
    kind,
    about: about ?? "",
    words,
    fields,
    seen: seen ?? {},
    parents: parents ?? [],
    member: member.number,
    memberName: member.name,
    loggedAt: new Date().toISOString(),
    state: WAITING,
    sent: false,
  };
  let isKept = true;
  if (replaces) isKept = await replaceEntry(replaces, entry, isFree);
  else await putEntry(entry);
  tell();
  return isKept;
}

export async function ownEntries() {
  const member = await getMember();
  return (await allEntries()).filter((entry) => entry.member === member?.number);
}

/** An entry that may have arrived already cannot be changed or given up before its answer is known. */
export const isFree = (entry) => entry.state === ASKS || (entry.state === WAITING && !entry.sent);

export async function giveUp(key) {
  const entry = await getEntry(key);
  if (!entry || !isFree(entry)) return false;
  await dropEntry(key);
  // What belongs to it would wait for ever: its grower decides.
  for (const one of await ownEntries()) {
    if (one.about !== key || one.state !== WAITING) continue;
    const answer = { outcome: "refused", words: "What it belongs to was given up." };
    await changeEntry(one.key, { state: ASKS, answer });
  }
  tell();
  return true;
}

/** Send an entry again that has asked: its grower has seen what stands and wants it written. */
export async function agree(key) {
  await changeEntry(key, { state: WAITING, isAgreed: true, answer: undefined });
  tell();
  return sendWaiting();
}

/** Send an entry again with what its grower chose of what could have been meant. */
export async function choose(key, name, value) {
  const entry = await getEntry(key);
  if (entry?.state !== ASKS) return null;
  const fields = { ...entry.fields, [name]: value };
  await changeEntry(key, { state: WAITING, fields, answer: undefined });
  tell();
  return sendWaiting();
}

const cookie = (name) =>
  document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`))?.slice(name.length + 1) ?? "";

function post(entry, { say }) {
  const body = new FormData();
  for (const [name, value] of Object.entries(entry.fields)) body.set(name, value);
  body.set("client_key", entry.key);
  body.set("entry", entry.kind);
  body.set("about", entry.about);
  body.set("member", entry.member);
  body.set("logged_at", entry.loggedAt);
  body.set("seen", JSON.stringify(entry.seen));
  if (entry.isAgreed) body.set("agreed", "1");
  if (say?.has(entry.key)) body.set("say", "1");
  return fetch("/offline/entry/", {
    method: "POST",
    body,
    headers: { "X-CSRFToken": cookie("csrftoken") },
    redirect: "error",
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
}

async function settle(entry, answer) {
  if (answer.outcome === "later") {
    await changeEntry(entry.key, { sent: false });
    return true;
  }
  const isWritten = answer.outcome === "done" || answer.outcome === "again";
  const state = isWritten ? DONE : ASKS;
  await changeEntry(entry.key, { state, sent: false, answer, settledAt: Date.now() });
  return false;
}

// It belongs to one that has not gone up; it is tried again after the others.
const LATER = Symbol("later");
const SIGN_IN = "Sign in, and they go up.";

/** Get a new token where the page's is older than the sign-in; false says that nobody is signed in. */
async function renewToken() {
  const answer = await fetch("/offline/copy/", { redirect: "manual" });
  return answer.ok;
}

/** Send one entry; return what stopped the sending, or nothing. */
async function send(key, options) {
  // On the disk before it leaves: after a crash it is known that it may have arrived.
  const entry = await changeEntry(key, { sent: true });
  if (!entry) return null;
  let response = await post(entry, options);
  if (response.status === 403 && (await renewToken())) response = await post(entry, options);
  if (response.ok) {
    return (await settle(entry, await response.json())) ? LATER : null;
  }
  // These did not get as far as the records.
  if ([400, 401, 403, 409].includes(response.status)) await changeEntry(entry.key, { sent: false });
  if (response.status === 401 || response.status === 403) return SIGN_IN;
  if (response.status === 409) return "Somebody else is signed in here.";
  return `The society's machine is in trouble (${response.status}). It is tried again.`;
}

async function sendAll(options) {
  const tried = new Set();
  const later = new Set();
  for (;;) {
    const next = (await ownEntries()).find((entry) => entry.state === WAITING && !tried.has(entry.key));
    if (!next) return null;
    tried.add(next.key);
    try {
      const trouble = await send(next.key, options);
      if (trouble === LATER) later.add(next.key);
      else if (trouble) return trouble;
      else {
        // Something may have been written that others wait for.
        for (const key of later) tried.delete(key);
        later.clear();
      }
    } catch {
      return "No signal. They are kept on this device.";
    } finally {
      tell();
    }
  }
}

async function forgetOldOnes() {
  for (const entry of await allEntries()) {
    if (entry.state === DONE && Date.now() - entry.settledAt > KEEP_DONE_MS) await dropEntry(entry.key);
  }
}

const written = async () => (await allEntries()).filter((entry) => entry.state === DONE).length;

let trouble = null;
export const whatStops = () => trouble;

/** Send what waits, one window at a time; returns what stopped it, or null. */
export function sendWaiting(options = {}) {
  return navigator.locks.request("outbox", async () => {
    await forgetOldOnes();
    const before = await written();
    trouble = await sendAll(options);
    if ((await written()) > before) refreshCopy({ always: true }).then(tell);
    tell();
    return trouble;
  });
}
