// The one module that every page loads. It improves what is there; without it every page still works.
import { logByOutbox } from "./device/forms.js";
import { keepDrafts, keepWhatWasOnItsWay, offerDrafts } from "./device/drafts.js";
import { noteMember, refreshCopy } from "./device/member.js";
import { reserveLetter } from "./device/numbers.js";
import { sendWaiting, tell } from "./device/outbox.js";
import { askBeforeSigningOut, showWaiting } from "./device/waiting.js";
import { offerScan } from "./scan/offer.js";

const TRY_AGAIN_MS = 30 * 1000;

async function workWithoutSignal() {
  const member = await noteMember();
  showWaiting();
  askBeforeSigningOut();
  if (!member) {
    // Whoever has to sign in first is offered afterwards what they had typed.
    keepWhatWasOnItsWay();
    return;
  }
  // The page without a signal has a way of its own: it does not wait for an answer.
  if (document.documentElement.dataset.shell === undefined) {
    logByOutbox(document);
    keepDrafts(document, member);
    offerDrafts(document, member);
  }
  navigator.serviceWorker?.register("/sw.js");
  const goOn = () => document.visibilityState === "visible" && sendWaiting();
  addEventListener("online", goOn);
  document.addEventListener("visibilitychange", goOn);
  setInterval(goOn, TRY_AGAIN_MS);
  await sendWaiting();
  await refreshCopy();
  await reserveLetter();
  tell();
  await keepReader();
}

/** The first tag may be scanned far from a signal: on an installed site the reader is there before. */
async function keepReader() {
  const isInstalled = matchMedia("(display-mode: standalone)").matches;
  if (!isInstalled || "BarcodeDetector" in globalThis) return;
  await navigator.serviceWorker?.ready;
  const { reader, readerLibrary, readerWasm } = document.getElementById("start").dataset;
  for (const address of [reader, readerLibrary, readerWasm]) {
    if (!(await caches.match(address))) await fetch(address);
  }
}

offerScan(document);
if (globalThis.indexedDB && navigator.locks && globalThis.isSecureContext) await workWithoutSignal();
