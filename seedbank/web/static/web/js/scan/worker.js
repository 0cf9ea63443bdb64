// Runs the vendored code reader off the page's thread: told first where its parts are, then given frames.
/* global ZXingWASM */
const OPTIONS = { formats: ["QRCode"], maxNumberOfSymbols: 1, tryHarder: true };

self.onmessage = async ({ data }) => {
  try {
    if (data.library) {
      importScripts(data.library);
      const overrides = { locateFile: () => data.wasm };
      await ZXingWASM.prepareZXingModule({ overrides, fireImmediately: true });
      self.postMessage({ text: null });
      return;
    }
    const [found] = await ZXingWASM.readBarcodes(data.frame, OPTIONS);
    self.postMessage({ text: found?.text || null });
  } catch (problem) {
    self.postMessage({ problem: String(problem) });
  }
};
