// The camera in place of a hand scanner: the browser's own detector where it has one for these symbols, else the decoder
// that is served from here. What was read goes back to the screen that asked, as if a scanner had typed it.
import { applySize } from "./fitting.js";
import { languageHere } from "./rules.js";
import { say, sayPage, speak } from "./say.js";

const page = document.querySelector("[data-camera-page]");
const video = page.querySelector("video");
const EVERY_MS = 150;
const WIDE = 1280;
const OWN = ["data_matrix", "qr_code", "code_128"];
const OURS = ["DataMatrix", "QRCode", "Code128"];

// Where to go back to: an address of the floor and no other.
function back() {
  const asked = sessionStorage.getItem("camera-back") ?? "";
  return asked.startsWith("/floor/") ? asked : "/floor/";
}

function tell(words) {
  page.querySelector("[data-camera-said] span").textContent = words;
}

async function ownDetector() {
  if (!("BarcodeDetector" in globalThis)) return null;
  const known = await BarcodeDetector.getSupportedFormats().catch(() => []);
  if (!OWN.slice(0, 2).every((format) => known.includes(format))) return null;
  const detector = new BarcodeDetector({ formats: OWN.filter((format) => known.includes(format)) });
  return async (canvas) => (await detector.detect(canvas))[0]?.rawValue ?? "";
}

function loaded(address) {
  return new Promise((resolve, reject) => {
    document.head.append(Object.assign(document.createElement("script"), { src: address, onload: resolve, onerror: reject }));
  });
}

// The decoder tells which symbology it read and the bytes as they stand, separators and all.
async function ourDecoder() {
  await loaded(page.dataset.reader);
  const { ZXingWASM } = globalThis;
  await ZXingWASM.prepareZXingModule({ overrides: { locateFile: () => page.dataset.wasm }, fireImmediately: true });
  return async (canvas) => {
    const picture = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    const [found] = await ZXingWASM.readBarcodes(picture, { formats: OURS, tryHarder: true, maxNumberOfSymbols: 1 });
    return found?.isValid ? found.symbologyIdentifier + new TextDecoder().decode(found.bytes) : "";
  };
}

function drawn(canvas) {
  const scale = Math.min(1, WIDE / video.videoWidth);
  [canvas.width, canvas.height] = [Math.round(video.videoWidth * scale), Math.round(video.videoHeight * scale)];
  canvas.getContext("2d", { willReadFrequently: true }).drawImage(video, 0, 0, canvas.width, canvas.height);
}

async function look(read) {
  const canvas = document.createElement("canvas");
  tell(say("Hold it still, about a hand’s width away."));
  for (;;) {
    if (video.videoWidth && !document.hidden) {
      drawn(canvas);
      const text = await read(canvas);
      if (text) return text;
    }
    await new Promise((resolve) => setTimeout(resolve, EVERY_MS));
  }
}

async function begin() {
  await speak(await languageHere());
  sayPage(document.body);
  page.querySelector("[data-back]").href = back();
  try {
    if (!navigator.mediaDevices?.getUserMedia) throw new Error("no camera here");
    video.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: WIDE } } });
    await video.play();
  } catch {
    return tell(say("No camera can be used here. Use the hand scanner, or type the code."));
  }
  let read;
  try {
    read = (await ownDetector()) ?? (await ourDecoder());
  } catch {
    return tell(say("This tablet can’t read symbols with its camera now. Use the hand scanner, or type the code."));
  }
  const text = await look(read);
  video.srcObject.getTracks().forEach((track) => track.stop());
  sessionStorage.setItem("camera-scan", text);
  return location.replace(back());
}

applySize();
begin();
