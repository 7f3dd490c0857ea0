// The sign-in page: nobody is signed in on this phone, so the pages that open without signal and their files are
// cleared from it. Acts that were never sent stay, under the name of who made them, and are told.
import { NAME, STORE } from "./queue-store.js";

const note = document.querySelector("[data-queue-left]");

async function clear() {
  for (const name of await caches.keys()) if (name.startsWith("wrapkeep-")) await caches.delete(name);
  const workers = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  for (const worker of workers) await worker.unregister();
  for (const key of Object.keys(localStorage)) if (key.startsWith("wrapkeep.") && key !== "wrapkeep.scanner") localStorage.removeItem(key);
  note.dataset.cleared = "yes";
}

function tell() {
  const request = indexedDB.open(NAME);
  // Opening makes an empty one where there was none: take it away again.
  request.onupgradeneeded = () => request.transaction.abort();
  request.onsuccess = () => {
    const all = request.result.transaction(STORE).objectStore(STORE).getAll();
    all.onsuccess = () => {
      const acts = all.result;
      const names = [...new Set(acts.map((act) => act.user))].join(", ");
      note.hidden = !acts.length;
      note.textContent = `${acts.length} ${acts.length === 1 ? "scan waits" : "scans wait"} on this phone. Sign in as ${names} and open Scan to send.`;
      request.result.close();
    };
  };
}

if (note) {
  if ("caches" in window) clear();
  if ("indexedDB" in window) tell();
}
