// Acts of this phone until the archive has them: each with its moment, the address it goes to, and an id of its own, so
// that sending it twice adds nothing.
import { openStore } from "./queue-store.js";

const WHO = "wrapkeep.who";
const AT_ONCE = 20;
const PATIENCE_MS = 8000;
const LATE_MS = 10000; // An act older than this was not answered while its thing was in the hand.

// Without HTTPS there is no randomUUID, but there are random numbers.
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

// Its id and its moment, for what is about to wait.
export const stamped = (act) => ({ client_id: newId(), ...act, at: new Date().toISOString() });

export class Queue {
  // `user`: who is signed in, as the page says; a page that opened without signal does not know and asks this phone.
  constructor({ readyUrl, user, token }) {
    if (user) localStorage.setItem(WHO, user);
    Object.assign(this, { readyUrl, user: user || localStorage.getItem(WHO) || "", token: token ?? "", line: Promise.resolve() });
    this.store = openStore();
  }

  async all() {
    return (await this.store).all();
  }

  // `url`: where it is sent; only the path, so that it is never sent to another site.
  async add(url, act) {
    await (await this.store).put({ ...act, url: new URL(url, location.href).pathname, user: this.user });
  }

  // More is known of an act that still waits.
  async amend(client_id, facts) {
    const act = (await this.all()).find((one) => one.client_id === client_id);
    if (act) await (await this.store).put({ ...act, ...facts });
  }

  // What waits here for the person who made it; another person's acts are never sent under this name.
  async mine() {
    return (await this.all()).filter((act) => act.user === this.user);
  }

  // Whether what waits survives the page.
  async lasts() {
    return (await this.store).lasts;
  }

  // One send after another. Gives back {state, answers}: "sent", "silent" (no signal), "signed out", "later" (a fault).
  send() {
    this.line = this.line.then(() => this.sendAll()).catch(() => ({ state: "silent", answers: [] }));
    return this.line;
  }

  // In the order they were made, those of one address together; a fault at one address does not hold up another.
  async sendAll() {
    const answers = [];
    const stuck = new Set();
    const free = async () => (await this.mine()).filter((act) => !stuck.has(act.url));
    for (let acts = await free(); acts.length; acts = await free()) {
      const { url } = acts[0];
      const some = acts.filter((act) => act.url === url).slice(0, AT_ONCE);
      const sent = await this.post(url, some);
      if (sent.answers) {
        const store = await this.store;
        for (const act of some) await store.drop(act.n);
        answers.push(...sent.answers);
        continue;
      }
      await this.markLate(some);
      if (sent.state !== "later") return { state: sent.state, answers };
      stuck.add(url);
    }
    return { state: stuck.size ? "later" : "sent", answers };
  }

  // It was tried once: from now on a no from the archive waits for a decision instead of being lost.
  async markLate(acts) {
    const store = await this.store;
    for (const act of acts) if (!act.late) await store.put({ ...act, late: true });
  }

  async post(url, acts, again = true) {
    if (!navigator.onLine) return { state: "silent" };
    const now = Date.now();
    const wire = ({ n, user, url, late, ...act }) => ({ ...act, waited: Boolean(late) || now - Date.parse(act.at) > LATE_MS });
    try {
      const who = this.token ? null : await this.ready();
      if (who && who !== this.user) return { state: "signed out" };
      const answer = await fetch(url, {
        method: "POST",
        redirect: "manual",
        headers: { "Content-Type": "application/json", "X-CSRFToken": this.token },
        body: JSON.stringify({ sent_at: new Date(now).toISOString(), acts: acts.map(wire) }),
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      if (answer.type === "opaqueredirect") return { state: "signed out" };
      if (answer.status === 403 && again) {
        this.token = "";
        return this.post(url, acts, false);
      }
      if (!answer.ok) return { state: "later" };
      const { answers } = await answer.json();
      return answers.length === acts.length ? { answers } : { state: "later" };
    } catch (fault) {
      return { state: fault.message === "signed out" ? "signed out" : "silent" };
    }
  }

  // Who is signed in, and a fresh token: the page from the phone's own store has none.
  async ready() {
    const answer = await fetch(this.readyUrl, { redirect: "manual", signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.type === "opaqueredirect" || answer.status === 403) throw new Error("signed out");
    const { user, token, kept } = await answer.json();
    Object.assign(this, { token, kept });
    this.user ||= user;
    return user;
  }
}
