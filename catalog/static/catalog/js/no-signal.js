// A page that opens without signal names its worker; the worker's scope reaches no other page.
const page = document.querySelector("[data-worker]");

if (page && "serviceWorker" in navigator) {
  navigator.serviceWorker.register(page.dataset.worker, { scope: page.dataset.scope }).catch(() => {});
}
