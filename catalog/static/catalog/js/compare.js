// Before and after: the two radio buttons work without this; the script adds a slider that uncovers the later picture.
document.querySelectorAll("[data-compare]").forEach((box) => {
  const [before, after] = box.querySelectorAll("input[type=radio]");
  const picture = box.querySelectorAll(".frame img")[1];
  const label = document.createElement("label");
  const slider = document.createElement("input");
  slider.type = "range";
  slider.max = "100";
  slider.value = "100";
  label.append("How much of the later picture ", slider);
  box.append(label);

  const show = (share) => {
    picture.style.clipPath = `inset(0 ${100 - share}% 0 0)`;
    slider.value = share;
    slider.ariaValueText = `${share} percent after`;
  };
  slider.addEventListener("input", () => {
    // The style sheet hides the later picture while "before" is chosen.
    after.checked = true;
    show(Number(slider.value));
  });
  before.addEventListener("change", () => show(0));
  after.addEventListener("change", () => show(100));
});
