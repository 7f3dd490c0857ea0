// Any page joins the queue by what stands in it (DEVELOPERS.md, "Working without signal"): one section[data-queue-box],
// and forms with data-queue-send. Without this script each form is a plain post.
import { wrongCheck } from "./label-check.js";
import { Queue, stamped } from "./queue.js";
import { Say } from "./queue-say.js";
import { watch } from "./queue-watch.js";

const box = document.querySelector("[data-queue-box]");

// The fields that a form names, as they stand; what was pressed may be one of them.
function fieldsOf(form, submitter) {
  const data = new FormData(form, submitter?.name ? submitter : undefined);
  return Object.fromEntries(form.dataset.queueFields.split(" ").map((name) => [name, String(data.get(name) ?? "").trim()]));
}

// What a person reads for a field: of a list the chosen line, else what was typed.
function shown(form, name, value) {
  const field = form.elements[name];
  return field?.selectedOptions ? (field.selectedOptions[0]?.textContent.trim() ?? value) : value;
}

const wordsOf = (form, fields) => form.dataset.queueWords.replace(/\{(\w+)\}/g, (_, name) => shown(form, name, fields[name] ?? ""));

// What the page shows of the store is asked for again once everything is sent.
async function refresh(address) {
  const parts = box.dataset.queueRefresh;
  if (!parts || !navigator.onLine) return;
  const answer = await fetch(address, { redirect: "error" });
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of parts.split(",")) {
    const [old, now] = [document.querySelector(part), page.querySelector(part)];
    const at = old?.contains(document.activeElement) ? document.activeElement : null;
    // What is being typed stays; a button that was pressed may go, and whoever is there is told where it was.
    if (!old || !now || at?.matches("input:not([type=hidden]), select, textarea")) continue;
    old.replaceWith(document.adoptNode(now));
    if (at) now.setAttribute("tabindex", "-1");
    if (at) now.focus({ preventScroll: true });
  }
}

function start() {
  const token = document.querySelector("input[name=csrfmiddlewaretoken]")?.value;
  const queue = new Queue({ readyUrl: box.dataset.ready, user: box.dataset.user, token });
  const say = new Say(box);
  let work = Promise.resolve();
  const line = (one) => (work = work.then(one).catch(() => say.tell("refused", "That went wrong. Do it again.")));

  const { sendWaiting } = watch({
    queue, say, line,
    sent: async (answers, state) => {
      for (const one of answers) say.log(one.result, one.sentence, one.client_id);
      say.answers(answers);
      if (!answers.length) return;
      document.dispatchEvent(new CustomEvent("queue:answers", { detail: answers }));
      // An answer may name the page that shows more of what was met.
      const look = answers.at(-1).look ?? location.href;
      if (state === "sent") await refresh(new URL(look, location.origin).pathname + new URL(look, location.origin).search).catch(() => {});
    },
  });

  // Kept at once, whatever else is on its way: a scanner may fire the next code before this one is answered.
  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-queue-send]");
    if (!form || event.defaultPrevented) return;
    event.preventDefault();
    const fields = fieldsOf(form, event.submitter);
    const words = wordsOf(form, fields);
    const needed = (form.dataset.queueNeeds ?? "").split(" ").find((name) => name && !fields[name]);
    if (needed) return form.elements[needed]?.focus();
    for (const name of (form.dataset.queueClears ?? "").split(" ")) if (form.elements[name]) form.elements[name].value = "";
    const misread = (form.dataset.queueCodes ?? "").split(" ").map((name) => wrongCheck(fields[name] ?? "")).find(Boolean);
    if (misread) return say.tell("refused", misread);
    (form.querySelector("input[type=text]") ?? event.submitter)?.focus();
    const act = stamped(fields);
    await queue.add(form.dataset.queueSend, act);
    say.log("waits", words, act.client_id);
    if (!navigator.onLine) say.tell("waits", `${words}. It is sent when there is a signal.`);
    line(sendWaiting);
  });

  // Where the browser keeps nothing, what waits would go with the page.
  let unsafe = false;
  const look = async () => (unsafe = !(await queue.lasts()) && (await queue.mine()).length > 0);
  setInterval(look, 1000);
  window.addEventListener("beforeunload", (event) => unsafe && event.preventDefault());
  box.dataset.joined = "yes";
  line(sendWaiting);
}

if (box) start();
