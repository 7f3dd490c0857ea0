// The scan field. A scanner is a keyboard that ends in Enter or Tab; the field keeps the focus and loses no scan.
// Without this script the form posts as any other.
const QUICK_MS = 90; // A person does not type a code with gaps this short; used only to know a scanner's Tab.

const KEPT = "wrapkeep.scanner";

// On a phone with a scanner the screen's keyboard is in the way: one button puts it away and brings it back.
function offerScanner(form, field) {
  if (!window.matchMedia("(pointer: coarse)").matches) return;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "link";
  const show = (scanner) => {
    field.inputMode = scanner ? "none" : "text";
    button.textContent = scanner ? "Type a code instead" : "I use a scanner";
  };
  show(window.localStorage.getItem(KEPT) === "yes");
  button.addEventListener("click", () => {
    const scanner = field.inputMode !== "none";
    window.localStorage.setItem(KEPT, scanner ? "yes" : "no");
    show(scanner);
    field.focus();
  });
  form.append(button);
}

// The middle gap, so that one hiccup of a busy phone does not send the focus away.
const quick = (gaps) => gaps.length >= 4 && [...gaps].sort((a, b) => a - b)[gaps.length >> 1] < QUICK_MS;

function setUp(form) {
  const field = form.querySelector("input[data-scan-field]") ?? form.querySelector("input[type=text]");
  const note = form.querySelector("[data-scan-note]");
  const waiting = [];
  let busy = false;
  let last = 0;
  let gaps = [];

  // A page that keeps scans without signal takes them here, before they are sent or after they were not.
  const taken = (detail) => !form.dispatchEvent(new CustomEvent("scan:code", { detail, cancelable: true }));

  const say = () => {
    note.textContent = waiting.length ? `${waiting.length} more to be read` : "";
  };

  const sendNext = async () => {
    if (busy || !waiting.length) return;
    if (taken({ code: waiting[0] })) {
      waiting.shift();
      return sendNext();
    }
    busy = true;
    // What else is in the form is as the answer before left it: where one stands, the id of this scan.
    const code = waiting.shift();
    const values = { ...Object.fromEntries(new FormData(form)), [field.name]: code };
    say();
    try {
      await window.htmx.ajax("POST", form.action, { target: form.dataset.scanQueue, swap: "innerHTML", values });
      busy = false;
    } catch {
      // Not sent. It waits with its id, so that sending it again adds nothing if it did arrive.
      busy = false;
      if (taken({ code, client_id: values.client_id })) return sendNext();
      waiting.unshift(code);
      note.textContent = `No connection: ${waiting.length} not sent. Press Enter to send again.`;
      field.focus();
      return;
    }
    field.focus();
    sendNext();
  };

  offerScanner(form, field);

  document.body.addEventListener("htmx:responseError", () => {
    note.textContent = "That scan was not taken. Load the page again.";
  });

  form.addEventListener("submit", (event) => {
    if (!form.dataset.scanQueue || !window.htmx) return;
    event.preventDefault();
    const code = field.value.trim();
    field.value = "";
    gaps = [];
    if (code && !(waiting.length === 0 && !busy && taken({ code }))) waiting.push(code);
    say();
    sendNext();
  });

  field.addEventListener("keydown", (event) => {
    const now = event.timeStamp;
    if (event.key === "Tab" && !event.shiftKey && field.value && quick(gaps)) {
      event.preventDefault();
      form.requestSubmit();
      return;
    }
    if (event.key.length === 1) {
      gaps = field.value ? [...gaps, now - last] : [];
      last = now;
    }
  });
}

document.querySelectorAll("form[data-scan]").forEach(setUp);
