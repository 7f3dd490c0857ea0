// The sign-in page: nobody is signed in on this phone, so the scan page and its files are cleared from it. Scans that
// were never sent stay, under the name of who made them, and are told.
const note = document.querySelector("[data-scans-left]");

async function clear() {
  for (const name of await caches.keys()) if (name.startsWith("wrapkeep-scan-")) await caches.delete(name);
  const worker = await navigator.serviceWorker?.getRegistration(note.dataset.scope);
  await worker?.unregister();
  localStorage.removeItem("wrapkeep.scan.who");
  note.dataset.cleared = "yes";
}

function tell() {
  const request = indexedDB.open("wrapkeep-scan");
  // Opening makes an empty one where there was none: take it away again.
  request.onupgradeneeded = () => request.transaction.abort();
  request.onsuccess = () => {
    const all = request.result.transaction("scans").objectStore("scans").getAll();
    all.onsuccess = () => {
      const scans = all.result;
      const names = [...new Set(scans.map((scan) => scan.user))].join(", ");
      note.hidden = !scans.length;
      note.textContent = `${scans.length} ${scans.length === 1 ? "scan waits" : "scans wait"} on this phone. Sign in as ${names} and open Scan to send.`;
      request.result.close();
    };
  };
}

if (note) {
  if ("caches" in window) clear();
  if ("indexedDB" in window) tell();
}
