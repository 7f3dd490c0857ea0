// A page without signal. Only its shell and the shell's files are kept, under this version's name; every other request
// goes its way untouched. With a signal the archive answers.
const KIND = "wrapkeep-{{ name }}-";
const NAME = KIND + "{{ version }}";
const PAGES = new RegExp({{ pages|safe }});
const SHELL = "{{ shell }}";
const FILES = {{ files|safe }};
const PATIENCE_MS = 5000;
let silent = false;

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const store = await caches.open(NAME);
      // A shell that leads to the sign-in page is no shell.
      const shell = await fetch(SHELL, { redirect: "error", cache: "no-store" });
      if (!shell.ok) throw new Error("no shell");
      await store.put(SHELL, shell);
      await store.addAll(FILES.map((file) => new Request(file, { cache: "no-cache" })));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const old = (await caches.keys()).filter((name) => name.startsWith(KIND) && name !== NAME);
      await Promise.all(old.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

async function page(request) {
  try {
    const answer = await Promise.race([
      fetch(request),
      new Promise((_, late) => setTimeout(() => late(new Error("late")), PATIENCE_MS)),
    ]);
    if (answer.status >= 502) throw new Error("nobody there");
    silent = false;
    return answer;
  } catch (fault) {
    silent = true;
    const shell = await (await caches.open(NAME)).match(SHELL);
    if (!shell) throw fault;
    return shell;
  }
}

async function file(request) {
  const kept = async () => (await caches.open(NAME)).match(new URL(request.url).pathname);
  const held = silent && (await kept());
  if (held) return held;
  try {
    return await fetch(request);
  } catch (fault) {
    const late = await kept();
    if (!late) throw fault;
    return late;
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate" && PAGES.test(url.pathname)) event.respondWith(page(request));
  else if (FILES.includes(url.pathname)) event.respondWith(file(request));
});
