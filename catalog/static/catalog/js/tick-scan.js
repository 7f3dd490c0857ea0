// Ticks in a list what is scanned. What is not on the list is asked of the archive, with what is ticked so far.
import { bare, labelIn, wrongCheck } from "./label-check.js";

const form = document.querySelector("form[data-tick]");
const list = document.querySelector("form[data-tick-list]");

function start() {
  const codes = JSON.parse(form.dataset.tick);
  const field = form.querySelector("[data-scan-field]");
  const note = form.querySelector("[data-scan-note]");
  const count = document.querySelector("[data-tick-count]");
  const boxes = [...list.querySelectorAll("input[name=counted]")];

  const tell = () => {
    const here = boxes.filter((box) => box.checked).length;
    count.textContent = `${here} of ${boxes.length} ${form.dataset.tickWords} ${here === 1 ? "is" : "are"} in it.`;
  };

  // The form that is sent carries what stands ticked and the place as typed, so that nothing is lost on the way.
  const carry = () => {
    const kept = { at: [list.elements.at.value], seen: [] };
    for (const [code, pk] of Object.entries(codes)) {
      if (boxes.some((box) => box.checked && box.value === String(pk))) kept.seen.push(code);
    }
    for (const name of ["at", "seen"]) {
      form.querySelectorAll(`input[name=${name}]`).forEach((old) => old.remove());
      for (const value of kept[name]) {
        form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
      }
    }
  };

  form.addEventListener("submit", (event) => {
    const text = field.value.trim();
    const box = boxes.find((one) => one.value === String(codes[labelIn(text) || bare(text).toUpperCase()]));
    const wrong = box ? "" : wrongCheck(text);
    if (text && !box && !wrong) return carry();
    event.preventDefault();
    field.value = "";
    note.textContent = wrong;
    if (!box) return;
    box.checked = true;
    note.textContent = `Ticked: ${box.closest("label")?.textContent.trim() ?? text}`;
    tell();
  });
  list.addEventListener("change", tell);
}

if (form && list) start();
