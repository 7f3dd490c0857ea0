// The shell of an on-set page knows nothing: of which loan and performer it is, its own address says.
const here = location.pathname.match(/^(\/loans\/[^/]+\/on-set\/)(?:performers\/([^/]+)\/)?$/);

if (here) {
  document.querySelectorAll("form[data-queue-send]").forEach((form) => (form.dataset.queueSend = `${here[1]}send/`));
  document.querySelectorAll("[name=wearer]").forEach((field) => (field.value = decodeURIComponent(here[2] ?? "")));
  document.querySelectorAll("[data-full-page]").forEach((link) => (link.href = location.pathname));
}
