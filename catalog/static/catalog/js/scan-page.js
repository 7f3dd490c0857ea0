// The scan page: fills one slot after another, sends each put through the queue, and says what became of it.
// Without this script every step is a plain form post.
const root = document.querySelector("[data-scan-page]");
const tabs = document.querySelector("[data-worker]");
const WHO = "wrapkeep.scan.who";
const RETRY_MS = 15000;
const WHY = { silent: "no signal", "signed out": "sign in to send them", later: "the archive could not take them just now" };

// This page alone opens without signal; the worker's scope reaches no other.
if (tabs && "serviceWorker" in navigator) navigator.serviceWorker.register(tabs.dataset.worker, { scope: tabs.dataset.scope }).catch(() => {});

// A label's check character by ISO 7064 MOD 37,36, so that a misread label is told without asking the archive.
const SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const bare = (text) => text.replace(/\/+$/, "").split("/").pop().trim();
const plain = (text) => bare(text).replace(/[\s-]/g, "").toUpperCase();
function wrongCheck(code) {
  if (!/^[PCLB][0-9]{5}[0-9A-Z]$/.test(code)) return false;
  let rest = 36;
  for (const sign of code.slice(0, 6)) rest = (((rest + SIGNS.indexOf(sign)) % 36 || 36) * 2) % 37;
  return SIGNS[(37 - rest) % 36] !== code[6];
}

async function start() {
  const [{ Queue, newId }, { Say }] = await Promise.all([import(root.dataset.queueJs), import(root.dataset.sayJs)]);
  const ways = JSON.parse(root.dataset.ways);
  const address = new URLSearchParams(location.search);
  const asked = address.get("way");
  const name = root.dataset.user ? root.dataset.way : Object.hasOwn(ways, asked) ? asked : "put";
  const way = ways[name];
  const form = root.querySelector("form[data-scan]");
  const { elements } = form;
  const field = form.querySelector("[data-scan-field]");
  if (root.dataset.user) localStorage.setItem(WHO, root.dataset.user);
  const queue = new Queue({ sendUrl: root.dataset.send, readyUrl: root.dataset.ready, user: root.dataset.user || localStorage.getItem(WHO) || "" });
  queue.token = elements.csrfmiddlewaretoken?.value ?? "";
  const say = new Say(root);
  const seen = {};
  const undone = new Set(); // Takings back, and what they took back: neither can be taken back again.
  let line = Promise.resolve();
  const later = (work) => (line = line.then(work).catch(() => say.tell("refused", "That went wrong. Scan it again.")));
  let state = "";

  const filled = () => Object.fromEntries(way.slots.map((slot) => [slot, elements[slot].value]));
  const next = () => way.slots.find((slot) => !elements[slot].value);
  const paint = () => {
    say.prompt(way.prompts[next() ?? way.slots.at(-1)]);
    say.slots(way, filled(), seen);
    if (name === "emergency" && next() === "thing") root.querySelector("h2").before(say.find("emergency"));
  };
  const count = async () => {
    const all = await queue.all();
    const mine = all.filter((scan) => scan.user === queue.user).length;
    say.waiting(mine, all.length - mine, WHY[state]);
    say.find("sign-in").hidden = state !== "signed out" || !mine;
    return mine;
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
    const label = plain(code);
    if (wrongCheck(label)) return `${label} has a wrong check character: a sign was misread or two were swapped. Scan it again.`;
    if (!/^[PCLB][0-9]{5}[0-9A-Z]$/.test(label)) return "";
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
    const scan = { client_id: newId(), ...values, reason, at: new Date().toISOString() };
    await queue.add(scan);
    for (const slot of way.slots) if (!way.stays.includes(slot)) elements[slot].value = "";
    paint();
    show(await queue.send(), scan, `${values.thing} to ${values.to}`);
  }

  // The answer of this very scan big, whatever else was sent with it in the log.
  function show(sent, scan, words) {
    state = sent.state;
    const own = sent.answers.find((one) => one.client_id === scan.client_id);
    say.signal(state !== "silent");
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
    if (sent.answers.some((one) => one.result === "kept")) queue.ready().then(() => say.kept(queue.kept)).catch(() => {});
    count();
  }

  async function sendWaiting() {
    if (!(await count())) {
      if (!root.dataset.user && navigator.onLine) await queue.ready().then(() => say.signal(true), () => say.signal(false));
      return;
    }
    const sent = await queue.send();
    state = sent.state;
    say.signal(state !== "silent");
    const own = sent.answers.filter((one) => !undone.has(one.client_id));
    sent.answers.forEach((one) => say.log(one.result, one.sentence, one.client_id, one === own.at(-1) && one.result !== "refused"));
    const worst = ["kept", "refused", "done"].map((kind) => sent.answers.filter((one) => one.result === kind)).find((some) => some.length);
    if (worst) {
      const many = sent.answers.length === 1 ? "1 scan was sent." : `${sent.answers.length} scans were sent.`;
      say.tell(worst[0].result, worst[0].result === "done" ? many : `${many} ${worst[0].sentence}`);
    }
    await queue.ready().then(() => say.kept(queue.kept)).catch(() => {});
    await count();
  }

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
    const scan = { client_id: newId(), undoes, from: elements.from.value, at: new Date().toISOString() };
    undone.add(scan.client_id).add(undoes);
    later(async () => {
      await queue.add(scan);
      show(await queue.send(), scan, "The last scan is taken back");
    });
  });
  say.find("send-now").addEventListener("click", () => later(sendWaiting));
  for (const [target, what] of [[window, "online"], [window, "focus"], [document, "visibilitychange"]]) target.addEventListener(what, () => later(sendWaiting));
  window.addEventListener("offline", () => ((state = "silent"), say.signal(false), count()));
  setInterval(() => later(sendWaiting), RETRY_MS);

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
  await sendWaiting();
}

if (root) start();
