// Scans on this phone until the archive has them. IndexedDB keeps them in the order they were made; each has an id of
// its own, so that sending one twice adds nothing. Where the browser keeps nothing, they live as long as the page.
const NAME = "wrapkeep-scan";
const STORE = "scans";
const AT_ONCE = 20;
const PATIENCE_MS = 8000;
const LATE_MS = 10000; // A scan older than this was not answered while its thing was in the hand.

// Without HTTPS there is no randomUUID, but there are random numbers.
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

const asked = (request) =>
  new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });

async function openStore() {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    const store = request.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
    store.createIndex("client_id", "client_id", { unique: true });
  };
  const db = await asked(request);
  const on = (mode) => db.transaction(STORE, mode).objectStore(STORE);
  return {
    lasts: true,
    all: () => asked(on("readonly").getAll()),
    put: (scan) => asked(on("readwrite").put(scan)),
    drop: (n) => asked(on("readwrite").delete(n)),
  };
}

function memoryStore() {
  const rows = new Map();
  let next = 1;
  return {
    lasts: false,
    all: async () => [...rows.values()],
    put: async (scan) => rows.set((scan.n ??= next++), scan),
    drop: async (n) => rows.delete(n),
  };
}

export class Queue {
  constructor({ sendUrl, readyUrl, user }) {
    Object.assign(this, { sendUrl, readyUrl, user, token: "", line: Promise.resolve() });
    this.store = openStore().catch(memoryStore);
  }

  async all() {
    return (await this.store).all();
  }

  async add(scan) {
    await (await this.store).put({ ...scan, user: this.user });
  }

  // What waits here for the person who scanned it; another person's scans are never sent under this name.
  async mine() {
    return (await this.all()).filter((scan) => scan.user === this.user);
  }

  // One send after another. Gives back {state, answers}: "sent", "silent" (no signal), "signed out", "later" (a fault).
  send() {
    this.line = this.line.then(() => this.sendAll()).catch(() => ({ state: "silent", answers: [] }));
    return this.line;
  }

  async sendAll() {
    const answers = [];
    for (let scans = await this.mine(); scans.length; scans = await this.mine()) {
      const some = scans.slice(0, AT_ONCE);
      const sent = await this.post(some);
      if (!sent.answers) {
        await this.markLate(some);
        return { state: sent.state, answers };
      }
      const store = await this.store;
      for (const [at, answer] of sent.answers.entries()) await store.drop(some[at].n);
      answers.push(...sent.answers);
    }
    return { state: "sent", answers };
  }

  // It was tried once: from now on a no from the archive waits for a decision instead of being lost.
  async markLate(scans) {
    const store = await this.store;
    for (const scan of scans) if (!scan.late) await store.put({ ...scan, late: true });
  }

  async post(scans, again = true) {
    if (!navigator.onLine) return { state: "silent" };
    const now = Date.now();
    const wire = ({ n, user, late, ...scan }) => ({ ...scan, waited: Boolean(late) || now - Date.parse(scan.at) > LATE_MS });
    try {
      const who = this.token ? null : await this.ready();
      if (who && who !== this.user) return { state: "signed out" };
      const answer = await fetch(this.sendUrl, {
        method: "POST",
        redirect: "manual",
        headers: { "Content-Type": "application/json", "X-CSRFToken": this.token },
        body: JSON.stringify({ sent_at: new Date(now).toISOString(), scans: scans.map(wire) }),
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      if (answer.type === "opaqueredirect") return { state: "signed out" };
      if (answer.status === 403 && again) {
        this.token = "";
        return this.post(scans, false);
      }
      if (!answer.ok) return { state: "later" };
      const { answers } = await answer.json();
      return answers.length === scans.length ? { answers } : { state: "later" };
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
