// A dialog with the camera's picture that closes when a code is read.
import { makeReader } from "./reader.js";

const A_LOOK_MS = 120;
const REFUSED = {
  NotAllowedError: "The camera was refused. Allow it for this site in the browser's settings, or type the number.",
  NotFoundError: "No camera was found here. Type the number.",
  NotReadableError: "Another program holds the camera. Close that one, or type the number.",
};

function makeDialog() {
  const dialog = document.createElement("dialog");
  dialog.className = "scan-dialog";
  dialog.setAttribute("aria-label", "Scan a code");
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  video.setAttribute("aria-hidden", "true");
  const words = document.createElement("p");
  words.setAttribute("role", "status");
  const close = document.createElement("button");
  close.type = "button";
  close.className = "second";
  close.textContent = "Close";
  close.addEventListener("click", () => dialog.close());
  dialog.append(video, words, close);
  document.body.append(dialog);
  return { dialog, video, words };
}

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

async function lookUntilRead(video, reader, isOpen) {
  while (isOpen()) {
    const text = video.videoWidth ? await reader.read(video) : null;
    if (text) return text;
    await pause(A_LOOK_MS);
  }
  return null;
}

/** Show the camera and return the text of the first code read, or null if it was closed. */
export async function readWithCamera() {
  const { dialog, video, words } = makeDialog();
  const closed = new Promise((resolve) => dialog.addEventListener("close", () => resolve(null)));
  dialog.showModal();
  words.textContent = "Waiting for the camera.";
  let stream = null;
  let reader = null;
  try {
    [stream, reader] = await Promise.all([
      navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false }),
      makeReader(),
    ]);
    video.srcObject = stream;
    await video.play();
    words.textContent = "Hold the code in the middle of the picture.";
    const read = await Promise.race([lookUntilRead(video, reader, () => dialog.open), closed]);
    if (read) navigator.vibrate?.(60);
    return read;
  } catch (problem) {
    words.textContent = REFUSED[problem.name] ?? "The reader could not be started. Type the number.";
    words.setAttribute("role", "alert");
    return await closed;
  } finally {
    stream?.getTracks().forEach((track) => track.stop());
    reader?.close();
    dialog.remove();
  }
}
