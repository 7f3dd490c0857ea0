// The camera: asked for only on a tap, read by the archive one frame at a time, or by the browser itself where it can.
// A code that was read goes through the scan field as if it had been typed.
const WIDE = 960;
const PAUSE_MS = 200;
const SAME_MS = 3000; // The same label still in view is not scanned again.
const WORDS = {
  insecure: "The camera needs HTTPS: this page was opened without it. Type the code, or ask whoever runs the site.",
  absent: "This device has no camera that a page may use. Type the code, or use a scanner.",
  refused: "The camera was refused. Allow it for this site in the browser's settings, or type the code.",
  busy: "The camera is in use by something else. Close that and try again, or type the code.",
  silent: "No signal: the archive reads the picture, so the camera has to wait. Type the code, or use a scanner.",
  looking: "Hold the label in the picture.",
};

function setUp(box) {
  const form = document.querySelector("form[data-scan]");
  const field = form?.querySelector("input[name=code]");
  const [button, light, said, view] = ["start", "light", "said", "view"].map((name) => box.querySelector(`[data-camera-${name}]`));
  if (!form) return;
  const word = button.querySelector("span");
  const canvas = document.createElement("canvas");
  let stream = null;
  let token = form.elements.csrfmiddlewaretoken?.value ?? "";
  let last = { text: "", at: 0 };
  button.hidden = false;

  const stop = (why = "") => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    view.hidden = light.hidden = true;
    word.textContent = "Use the camera";
    said.textContent = why;
  };

  async function askArchive() {
    const scale = Math.min(1, WIDE / view.videoWidth);
    canvas.width = view.videoWidth * scale;
    canvas.height = view.videoHeight * scale;
    canvas.getContext("2d").drawImage(view, 0, 0, canvas.width, canvas.height);
    const frame = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.8));
    if (!token) token = (await (await fetch(box.dataset.ready, { redirect: "error" })).json()).token;
    const answer = await fetch(box.dataset.decode, {
      method: "POST", body: frame, redirect: "error", headers: { "Content-Type": "image/jpeg", "X-CSRFToken": token }, signal: AbortSignal.timeout(8000),
    });
    const found = await answer.json();
    return { ...found, pause: answer.status === 429 ? 10000 : PAUSE_MS };
  }

  async function ownReader() {
    if (!("BarcodeDetector" in window)) return null;
    const formats = await BarcodeDetector.getSupportedFormats().catch(() => []);
    return formats.includes("qr_code") ? new BarcodeDetector({ formats: ["qr_code"] }) : null;
  }

  function found(text) {
    const now = Date.now();
    const same = text === last.text && now - last.at < SAME_MS;
    last = { text, at: now };
    if (same) return;
    field.value = text;
    form.requestSubmit();
  }

  async function watch(reader) {
    while (stream) {
      let pause = PAUSE_MS;
      try {
        const read = reader ? { text: (await reader.detect(view))[0]?.rawValue ?? "" } : await askArchive();
        if (!stream) return;
        pause = read.pause ?? PAUSE_MS;
        said.textContent = read.problem ?? WORDS.looking;
        if (read.text) found(read.text);
      } catch {
        said.textContent = WORDS.silent;
        pause = 2000;
      }
      await new Promise((done) => setTimeout(done, pause));
    }
  }

  button.addEventListener("click", async () => {
    if (stream) return stop();
    if (!window.isSecureContext) return stop(WORDS.insecure);
    if (!navigator.mediaDevices?.getUserMedia) return stop(WORDS.absent);
    const reader = await ownReader();
    if (!reader && !navigator.onLine) return stop(WORDS.silent);
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } } });
    } catch (fault) {
      const why = { NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "absent", OverconstrainedError: "absent" };
      return stop(WORDS[why[fault.name] ?? "busy"]);
    }
    view.srcObject = stream;
    view.hidden = false;
    word.textContent = "Stop the camera";
    said.textContent = WORDS.looking;
    await view.play();
    light.hidden = !stream.getVideoTracks()[0].getCapabilities?.().torch;
    watch(reader);
  });
  light.addEventListener("click", () => {
    const on = light.getAttribute("aria-pressed") !== "true";
    light.setAttribute("aria-pressed", String(on));
    stream?.getVideoTracks()[0].applyConstraints({ advanced: [{ torch: on }] });
  });
  document.addEventListener("visibilitychange", () => document.hidden && stop());
}

document.querySelectorAll("[data-camera]").forEach(setUp);
