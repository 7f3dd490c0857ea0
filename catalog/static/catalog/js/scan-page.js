// The scan page: fills one slot after another, sends each put through the queue, and says what became of it.
// Without this script every step is a plain form post.
import { bare, labelIn, wrongCheck } from "./label-check.js";
import { Queue, stamped } from "./queue.js";
import { watch } from "./queue-watch.js";
import { ScanSay } from "./scan-say.js";

const root = document.querySelector("[data-scan-page]");

async function start() {
  const ways = JSON.parse(root.dataset.ways);
  const address = new URLSearchParams(location.search);
  const asked = address.get("way");
  const name = root.dataset.user ? root.dataset.way : Object.hasOwn(ways, asked) ? asked : "put";
  const way = ways[name];
  const form = root.querySelector("form[data-scan]");
  const { elements } = form;
  const field = form.querySelector("[data-scan-field]");
  const queue = new Queue({ readyUrl: root.dataset.ready, user: root.dataset.user, token: elements.csrfmiddlewaretoken?.value });
  const say = new ScanSay(root);
  const seen = {};
  const undone = new Set(); // Takings back, and what they took back: neither can be taken back again.
  let line = Promise.resolve();
  const later = (work) => (line = line.then(work).catch(() => say.tell("refused", "That went wrong. Scan it again.")));
  const keep = (scan) => queue.add(root.dataset.send, scan);

  const filled = () => Object.fromEntries(way.slots.map((slot) => [slot, elements[slot].value]));
  const next = () => way.slots.find((slot) => !elements[slot].value);
  const paint = () => {
    say.prompt(way.prompts[next() ?? way.slots.at(-1)]);
    say.slots(way, filled(), seen);
    if (name === "emergency" && next() === "thing") root.querySelector("h2").before(say.find("emergency"));
  };

  // What a code is, from the archive; nothing when there is no signal.
  async function look(code, slot) {
    if (!navigator.onLine) return null;
    try {
      if (!queue.token) await queue.ready();
      const body = new URLSearchParams({ code, slot });
      const answer = await fetch(root.dataset.look, {
        method: "POST", body, redirect: "manual", headers: { "X-CSRFToken": queue.token }, signal: AbortSignal.timeout(4000),
      });
      if (answer.status === 403) queue.token = ""; // an old page: the next one asks for a fresh token
      return answer.ok || answer.status === 429 ? answer.json() : null;
    } catch {
      return null;
    }
  }

  // What can be told of a code without asking: its check character, and by its letter whether it is a place.
  function fault(code, slot) {
    const label = labelIn(code);
    const wrong = wrongCheck(code);
    if (wrong || !label) return wrong;
    if (label[0] === "P" && slot !== "thing") return `${label} is the label of a piece, not of a place: scan the shelf or the trunk.`;
    return label[0] === "L" && slot === "thing" ? `${label} is the label of a shelf: it stays where it is. Scan a piece or a trunk.` : "";
  }

  async function step(code) {
    const slot = next();
    say.near([]);
    if (name === "emergency" && !elements.reason.value.trim()) {
      say.tell("refused", "Say why first: one reason for the whole emergency.");
      return elements.reason.focus();
    }
    const last = way.slots.filter((one) => !elements[one].value).length === 1;
    const known = last ? null : await look(code, slot);
    const wrong = known ? known.problem : fault(code, slot);
    if (wrong) {
      say.tell("refused", wrong);
      return say.near(known?.near);
    }
    elements[slot].value = known?.number ?? bare(code);
    seen[slot] = known ? [known.name, known.where].filter(Boolean).join(", ") : "as read";
    if (known?.left) say.left(known.left);
    if (last) return put();
    say.tell("", "", known?.lift);
    return paint();
  }

  async function put() {
    const values = filled();
    const reason = name === "emergency" ? elements.reason.value.trim() : "";
    const scan = stamped({ ...values, reason });
    await keep(scan);
    for (const slot of way.slots) if (!way.stays.includes(slot)) elements[slot].value = "";
    paint();
    show(await queue.send(), scan, `${values.thing} to ${values.to}`);
  }

  // The answer of this very scan big, whatever else was sent with it in the log.
  function show(sent, scan, words) {
    const own = sent.answers.find((one) => one.client_id === scan.client_id);
    sent.answers.filter((one) => one !== own).forEach((one) => say.log(one.result, one.sentence, one.client_id));
    if (!own) {
      say.tell("waits", `${words}. It is sent when there is a signal.`);
      say.log("waits", words, scan.client_id, !scan.undoes);
    } else {
      say.tell(own.result, own.sentence, own.lift);
      say.near(own.near);
      say.left(own.left ?? say.find("left").textContent);
      if (own.result === "refused" && own.slot === "to" && name === "put" && scan.thing) {
        elements.thing.value = scan.thing;
        paint();
      }
      say.log(own.result, own.sentence, scan.client_id, own.result !== "refused" && !scan.undoes);
    }
    if (sent.answers.some((one) => one.result === "kept")) watching.askKept();
    watching.ended(sent.state);
  }

  const watching = watch({
    queue, say,
    line: later,
    sent: async (answers) => {
      const own = answers.filter((one) => !undone.has(one.client_id));
      answers.forEach((one) => say.log(one.result, one.sentence, one.client_id, one === own.at(-1) && one.result !== "refused"));
      say.answers(answers);
    },
  });

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const code = event.submitter?.name === "code" ? event.submitter.value : field.value;
    field.value = "";
    if (code.trim()) later(() => step(code.trim()));
    field.focus();
  });
  root.querySelector("form[data-undo]").addEventListener("submit", (event) => {
    event.preventDefault();
    const undoes = event.submitter?.value;
    if (!undoes) return;
    event.submitter.disabled = true;
    field.focus();
    const scan = stamped({ undoes, from: elements.from.value });
    undone.add(scan.client_id).add(undoes);
    later(async () => {
      await keep(scan);
      show(await queue.send(), scan, "The last scan is taken back");
    });
  });

  if (!root.dataset.user) {
    elements.way.value = name;
    for (const slot of [...way.slots, "reason"]) elements[slot].value = address.get(slot) ?? "";
    say.find("emergency").hidden = name !== "emergency";
    say.find("reason").hidden = name !== "emergency";
    document.querySelectorAll("[data-way-link]").forEach((link) => {
      if (link.dataset.wayLink === "open") link.closest("li").hidden = true;
      link.toggleAttribute("aria-current", link.dataset.wayLink === name);
    });
    paint();
  }
  root.dataset.ready = "yes";
  await watching.sendWaiting();
}

if (root) start();
