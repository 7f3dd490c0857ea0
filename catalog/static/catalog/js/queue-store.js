// Where acts wait on this phone. IndexedDB keeps them in the order they were made; where the browser keeps nothing,
// they live as long as the page.
export const NAME = "wrapkeep-queue";
export const STORE = "acts";

const asked = (request) =>
  new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });

async function lastingStore() {
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
    put: (act) => asked(on("readwrite").put(act)),
    drop: (n) => asked(on("readwrite").delete(n)),
  };
}

function memoryStore() {
  const rows = new Map();
  let next = 1;
  return {
    lasts: false,
    all: async () => [...rows.values()],
    put: async (act) => rows.set((act.n ??= next++), act),
    drop: async (n) => rows.delete(n),
  };
}

export const openStore = () => lastingStore().catch(memoryStore);
