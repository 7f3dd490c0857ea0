// What the scan page says: a shape, a word and a sentence, big enough for an arm's length and a dark aisle.
const MOST = 12;

const made = (name, text = "", className = "") => Object.assign(document.createElement(name), { textContent: text, className });

export class Say {
  constructor(root) {
    this.root = root;
    this.find = (name) => root.querySelector(`[data-${name}]`);
    this.answer = document.querySelector("[data-answer]");
  }

  sign(kind) {
    return this.root.querySelector(`template[data-sign="${kind}"]`).content.cloneNode(true);
  }

  // The big sign. `lift` is a caution that stands where the hand is.
  tell(kind, sentence, lift = "") {
    const box = this.find("sign-now");
    const sign = kind ? [this.sign(kind)] : [];
    box.replaceChildren(...sign, ...(sentence ? [made("p", sentence)] : []), ...(lift ? [made("p", lift, "lift")] : []));
    box.className = `scan-sign ${box.querySelector(".mark")?.className.match(/tone-\w+/)?.[0] ?? ""}`;
  }

  prompt(text) {
    this.answer.textContent = text;
  }

  slots(way, filled, seen) {
    const rows = way.slots.map((slot) => {
      const row = made("li");
      row.dataset.slot = slot;
      row.append(made("b", way.words[slot]), " ");
      if (filled[slot]) row.append(made("span", filled[slot], "mono"), " ", made("span", seen[slot] ?? "", "small"));
      else row.append(made("span", "not scanned yet", "unknown"));
      return row;
    });
    this.find("slots").replaceChildren(...rows);
  }

  left(text) {
    this.find("left").textContent = text ?? "";
  }

  near(things) {
    const box = this.find("near");
    box.hidden = !things?.length;
    const buttons = (things ?? []).map((one) => {
      const button = made("button", `${one.number} `, "plain");
      Object.assign(button, { name: "code", value: one.number });
      button.append(made("span", one.name, "small"));
      return button;
    });
    box.querySelector("div").replaceChildren(...buttons);
  }

  waiting(mine, others, why) {
    const box = this.find("waiting");
    box.hidden = !mine && !others;
    const parts = [];
    if (mine) parts.push(`${mine} ${mine === 1 ? "scan waits" : "scans wait"} on this phone${why ? `: ${why}` : ""}.`);
    if (others) parts.push(`${others} of somebody else: they are sent when that person signs in here.`);
    this.find("waiting-count").textContent = parts.join(" ");
    this.find("send-now").hidden = !mine;
  }

  kept(number) {
    this.find("kept-line").hidden = !number;
    this.find("kept-count").textContent = `${number} ${number === 1 ? "scan waits" : "scans wait"} for a decision`;
  }

  // Whether the page from the phone's own store has a signal again.
  signal(there) {
    for (const [name, hidden] of [["silent", there], ["signal", !there]]) document.querySelector(`[data-${name}]`)?.toggleAttribute("hidden", hidden);
  }

  // The newest line first, a scan once; only the newest can be taken back.
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
}
