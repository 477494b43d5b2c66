// A page whose scripts did not all come is dead to every press: it is asked for once more at once. It stands before them,
// and is no module, so that it needs none of them.
(() => {
  const NAME = "asked again";
  const APART_MS = 30_000; // no oftener: what fails twice is no passing fault
  addEventListener("error", ({ target }) => {
    if (!target.matches?.("[data-needed]")) return;
    const before = JSON.parse(sessionStorage.getItem(NAME) ?? "null");
    if (before?.address === location.href && Date.now() - before.at < APART_MS) return;
    sessionStorage.setItem(NAME, JSON.stringify({ address: location.href, at: Date.now() }));
    location.replace(location.href);
  }, true);
})();
