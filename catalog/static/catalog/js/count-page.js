// Counting without signal: each scan waits here with its moment, its shelf and the container that is open. With a signal
// the page counts as before; nothing here knows what is expected.
import { bare, labelIn, wrongCheck } from "./label-check.js";
import { Queue, newId, stamped } from "./queue.js";
import { Say } from "./queue-say.js";
import { watch } from "./queue-watch.js";

const form = document.querySelector("form[data-count]");
const box = document.querySelector("[data-queue-box]");

function start() {
  const { elements } = form;
  const stops = JSON.parse(form.dataset.stops); // what a shelf's label or code reads -> its code
  const queue = new Queue({ readyUrl: box.dataset.ready, user: box.dataset.user, token: elements.csrfmiddlewaretoken.value });
  const say = new Say(box);
  const trunk = box.parentElement.querySelector("[data-count-trunk]");
  let work = Promise.resolve();
  const line = (one) => (work = work.then(one).catch(() => say.tell("refused", "That went wrong. Scan it again.")));
  let within = ""; // the scan of a container that is open and not sent yet
  let last = null;
  let waits = 0;

  const { sendWaiting } = watch({
    queue, say, line,
    sent: async (answers, state) => {
      for (const one of answers) {
        say.log(one.result, one.sentence, one.client_id);
        if (one.box && one.client_id === within) [elements.box.value, within] = [one.box, ""];
      }
      say.answers(answers);
      waits = (await queue.mine()).length;
      if (!answers.length || state !== "sent") return;
      trunk.hidden = true;
      const at = new URLSearchParams({ at: elements.at.value, box: elements.box.value });
      await window.htmx.ajax("GET", `${location.pathname}?${at}`, { target: "#count-part", swap: "innerHTML" });
    },
  });

  async function keep(act, words) {
    waits += 1;
    last = stamped({ spot: elements.at.value, box: within ? "" : elements.box.value, within, ...act });
    await queue.add(form.dataset.count, last);
    say.log("waits", words, last.client_id);
    say.tell("waits", `${words}. It is sent when there is a signal.`);
    line(sendWaiting);
  }

  const here = () => (document.querySelector("h1.answer").textContent = `At ${elements.at.value || "no shelf yet"}, without signal.`);

  function goTo(shelf) {
    [elements.at.value, elements.box.value, within] = [shelf, "", ""];
    trunk.hidden = true;
    here();
    say.tell("", `Counting at ${shelf}.`);
  }

  function count(code, client_id) {
    const shelf = stops[labelIn(code) || bare(code).toUpperCase()];
    if (shelf) return goTo(shelf);
    const wrong = wrongCheck(code);
    if (wrong) return say.tell("refused", wrong);
    if (!elements.at.value) return say.tell("refused", "Scan the shelf first, or choose it from the list.");
    here();
    const container = labelIn(code)[0] === "C";
    const act = { client_id: client_id || newId(), code: bare(code), reads: container ? "container" : "" };
    const kept = keep(act, `${bare(code)} seen at ${elements.at.value}`);
    trunk.hidden = container;
    if (container) within = act.client_id;
    return kept;
  }

  // scan.js asks before it sends: without signal, or while older scans wait, the scan waits with them.
  form.addEventListener("scan:code", (event) => {
    const { code, client_id: id } = event.detail;
    if (!id && navigator.onLine && !waits) return;
    event.preventDefault();
    if (id) elements.client_id.value = newId(); // the id of the scan that was not answered goes with it
    count(code, id);
  });

  // Without signal nobody can say what a code is: whoever sees it can.
  trunk.querySelector("button").addEventListener("click", async () => {
    trunk.hidden = true;
    within = last.client_id;
    elements.box.value = "";
    await queue.amend(last.client_id, { reads: "container" });
    say.tell("waits", `${last.code} is a trunk or box: what you scan now is in it.`);
  });

  document.addEventListener("submit", (event) => {
    const done = event.target.closest("form[data-count-done]");
    if (!done || (navigator.onLine && !waits)) return;
    event.preventDefault();
    within = "";
    keep({ code: "", done: "yes", box: "", within: "" }, `All of ${elements.at.value} is counted`);
  });
  document.addEventListener("click", (event) => {
    if (!event.target.closest("a[data-count-out]") || (navigator.onLine && !waits)) return;
    event.preventDefault();
    goTo(elements.at.value);
  });
  box.dataset.joined = "yes";
  line(async () => {
    waits = (await queue.mine()).length;
    await sendWaiting();
  });
}

if (form && box) start();
