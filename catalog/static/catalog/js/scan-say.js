// What only the scan page says: what to scan next, what is filled, what is left to carry, what it may have been.
import { Say, made } from "./queue-say.js";

export class ScanSay extends Say {
  prompt(text) {
    document.querySelector("[data-answer]").textContent = text;
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
}
