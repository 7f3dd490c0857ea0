// A scanner ends with Enter, which would send a half-filled form: in fields marked data-enter-next it goes on instead.
for (const form of document.querySelectorAll("form[data-enter-next]")) {
  form.addEventListener("keydown", (event) => {
    const here = event.target;
    if (event.key !== "Enter" || here.tagName !== "INPUT" || here.type === "checkbox") return;
    event.preventDefault();
    const fields = [...form.elements].filter((field) => field.checkVisibility() && !field.disabled && field.type !== "hidden" && field.tagName !== "FIELDSET");
    fields[fields.indexOf(here) + 1]?.focus();
  });
}
