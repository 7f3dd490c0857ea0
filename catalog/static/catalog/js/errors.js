// After a form came back with mistakes, the summary takes the focus, so that a screen reader and the eye start there.
const focusSummary = (root) => root.querySelector("[data-error-summary]")?.focus();

focusSummary(document);
document.addEventListener("htmx:afterSwap", (event) => focusSummary(event.target));
