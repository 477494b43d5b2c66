// The light that a person chose for this device: paper, dark or glare. Kept here, not with the person.
const KEPT = "light";
const LIGHTS = ["paper", "dark", "glare"];

function kept() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return null; // storage may be barred; the page then stands in the light it was drawn in
  }
}

function show(light) {
  document.documentElement.dataset.light = LIGHTS.includes(light) ? light : LIGHTS[0];
  for (const button of document.querySelectorAll("[data-set-light]")) {
    button.setAttribute("aria-pressed", String(button.dataset.setLight === document.documentElement.dataset.light));
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-set-light]");
  if (!button) return;
  try {
    localStorage.setItem(KEPT, button.dataset.setLight);
  } catch {
    // it holds for this page then
  }
  show(button.dataset.setLight);
});
show(kept());
