// What a page with a queue says: a shape, a word and a sentence, big enough for an arm's length and a dark aisle.
const MOST = 12;
const WHY = { silent: "no signal", "signed out": "sign in to send them", later: "the archive could not take them just now" };

export const made = (name, text = "", className = "") => Object.assign(document.createElement(name), { textContent: text, className });
const scans = (number) => `${number} ${number === 1 ? "scan waits" : "scans wait"}`;

export class Say {
  constructor(root) {
    this.root = root;
    this.find = (name) => root.querySelector(`[data-${name}]`);
  }

  sign(kind) {
    return this.root.querySelector(`template[data-sign="${kind}"]`).content.cloneNode(true);
  }

  // The big sign. `lift` is a caution that stands where the hand is.
  tell(kind, sentence, lift = "") {
    const box = this.find("sign-now");
    const sign = kind ? [this.sign(kind)] : [];
    box.replaceChildren(...sign, ...(sentence ? [made("p", sentence)] : []), ...(lift ? [made("p", lift, "lift")] : []));
    box.className = `queue-sign ${box.querySelector(".mark")?.className.match(/tone-\w+/)?.[0] ?? ""}`;
  }

  waiting(mine, others, state) {
    const why = WHY[state];
    const box = this.find("waiting");
    box.hidden = !mine && !others;
    const parts = [];
    if (mine) parts.push(`${scans(mine)} on this phone${why ? `: ${why}` : ""}.`);
    if (others) parts.push(`${others} of somebody else: they are sent when that person signs in here.`);
    this.find("waiting-count").textContent = parts.join(" ");
    this.find("send-now").hidden = !mine;
    this.find("sign-in").hidden = state !== "signed out" || !mine;
  }

  kept(number) {
    this.find("kept-line").hidden = !number;
    this.find("kept-count").textContent = `${scans(number)} for a decision`;
  }

  // Whether the page from the phone's own store has a signal again.
  signal(there) {
    for (const [name, hidden] of [["silent", there], ["signal", !there]]) document.querySelector(`[data-${name}]`)?.toggleAttribute("hidden", hidden);
  }

  // The newest line first, an act once; only the newest can be taken back.
  log(kind, words, id, undoes) {
    const list = this.find("log");
    this.find("log-empty")?.remove();
    list.querySelectorAll("button").forEach((old) => old.remove());
    list.querySelector(`[data-scan-id="${id}"]`)?.remove();
    const row = made("li");
    row.dataset.scanId = id;
    row.append(this.sign(kind), ` ${words} `);
    if (undoes) {
      const button = Object.assign(made("button", "Undo", "plain"), { name: "undoes", value: id });
      button.append(made("span", ` ${words}`, "hidden-text"));
      row.append(button);
    }
    list.prepend(row);
    while (list.children.length > MOST) list.lastElementChild.remove();
  }

  // Of several answers the gravest is told big: what waits for somebody must not hide behind what went well.
  answers(answers) {
    const worst = ["kept", "refused", "done"].map((kind) => answers.filter((one) => one.result === kind)).find((some) => some.length);
    if (!worst) return;
    const own = worst.at(-1);
    if (answers.length === 1) return this.tell(own.result, own.sentence, own.lift);
    const many = `${answers.length} scans were sent.`;
    this.tell(own.result, own.result === "done" ? many : `${many} ${worst[0].sentence}`);
  }
}
