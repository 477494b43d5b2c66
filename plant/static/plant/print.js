// Print by a press. Without script the page says where the browser has it; a paper copy says when it was printed.
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
for (const hint of document.querySelectorAll("[data-print-hint]")) hint.hidden = true;

window.addEventListener("beforeprint", () => {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  const told = `, printed ${day} ${two(now.getHours())}:${two(now.getMinutes())} by this device’s clock`;
  for (const place of document.querySelectorAll("[data-printed]")) place.textContent = told;
});
