// Reads a QR code from a frame: by the browser's own detector, or by the vendored WebAssembly one.
//
// The WebAssembly runs in a worker whose own Content-Security-Policy allows it, so that no page needs
// to. It is loaded when a scan is asked for and not before.
const WIDEST = 960;

async function ownDetector() {
  if (!("BarcodeDetector" in globalThis)) return null;
  const formats = await BarcodeDetector.getSupportedFormats();
  if (!formats.includes("qr_code")) return null;
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  return {
    read: async (video) => (await detector.detect(video))[0]?.rawValue ?? null,
    close: () => {},
  };
}

function workerReader() {
  const addresses = document.getElementById("start").dataset;
  const worker = new Worker(addresses.reader);
  const canvas = document.createElement("canvas");
  const answer = (message, transfer) =>
    new Promise((resolve, reject) => {
      worker.onmessage = ({ data }) => (data.problem ? reject(new Error(data.problem)) : resolve(data.text));
      worker.onerror = () => reject(new Error("The reader did not load."));
      worker.postMessage(message, transfer);
    });
  const read = (video) => {
    const scale = Math.min(1, WIDEST / video.videoWidth);
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    const context = canvas.getContext("2d", { willReadFrequently: true });
    context.drawImage(video, 0, 0, canvas.width, canvas.height);
    const frame = context.getImageData(0, 0, canvas.width, canvas.height);
    return answer({ frame }, [frame.data.buffer]);
  };
  const ready = answer({
    library: new URL(addresses.readerLibrary, location.href).href,
    wasm: new URL(addresses.readerWasm, location.href).href,
  });
  return ready.then(() => ({ read, close: () => worker.terminate() }));
}

export async function makeReader() {
  return (await ownDetector()) ?? workerReader();
}
