// The clocks of a performer's page go on by themselves: minutes worn, and a sign when a limit is reached. The moments
// are kept by the archive; without this script, and on paper, the page says until when a piece may be worn.
const EVERY_MS = 2000;

const since = (box) => (box.dataset.since ? (Date.now() - Date.parse(box.dataset.since)) / 1000 : 0);

function show(box) {
  const worn = Math.max(0, Number(box.dataset.before) + since(box));
  const [now, stop] = [box.querySelector("[data-clock-now]"), box.querySelector("[data-clock-stop]")];
  const words = `${Math.floor(worn / 60)} min`;
  if (now.textContent !== words) now.textContent = words;
  const limit = Number(box.dataset.limit);
  stop.hidden = !(limit && worn >= limit);
  box.classList.toggle("onset-over", !stop.hidden && Boolean(box.dataset.since));
}

const all = () => document.querySelectorAll("[data-clock]").forEach(show);

// What is pressed without signal counts from now on this page; what the archive says replaces it when it is sent.
document.addEventListener("submit", (event) => {
  const box = event.target.closest(".onset-piece")?.querySelector("[data-clock]");
  const act = event.submitter?.value;
  if (!box || navigator.onLine || !["start", "stop", "in"].includes(act)) return;
  if (act === "start" && !box.dataset.since) box.dataset.since = new Date().toISOString();
  if (act !== "start" && box.dataset.since) {
    box.dataset.before = Number(box.dataset.before) + since(box);
    delete box.dataset.since;
  }
  show(box);
});

setInterval(all, EVERY_MS);
all();
