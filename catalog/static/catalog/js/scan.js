// The scan field. A scanner is a keyboard that ends in Enter or Tab; the field keeps the focus and loses no scan.
// Without this script the form posts as any other.
const QUICK_MS = 60; // A person cannot type a whole code with gaps this short; used only to know a scanner's Tab.

function setUp(form) {
  const field = form.querySelector("input[type=text]");
  const note = form.querySelector("[data-scan-note]");
  const waiting = [];
  let busy = false;
  let last = 0;
  let gaps = [];

  const say = () => {
    note.textContent = waiting.length ? `${waiting.length} more to be read` : "";
  };

  const sendNext = async () => {
    if (busy || !waiting.length) return;
    busy = true;
    const values = waiting.shift();
    say();
    try {
      await window.htmx.ajax("POST", form.action, { target: form.dataset.scanQueue, swap: "innerHTML", values });
    } finally {
      busy = false;
      field.focus();
      sendNext();
    }
  };

  form.addEventListener("submit", (event) => {
    if (!form.dataset.scanQueue || !window.htmx) return;
    event.preventDefault();
    if (!field.value.trim()) return;
    waiting.push(Object.fromEntries(new FormData(form)));
    field.value = "";
    gaps = [];
    say();
    sendNext();
  });

  field.addEventListener("keydown", (event) => {
    const now = event.timeStamp;
    if (event.key === "Tab" && !event.shiftKey && gaps.length >= 4 && Math.max(...gaps) < QUICK_MS) {
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
