// Whatever is folded on the screen is open on paper.
(() => {
  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = [...document.querySelectorAll("details:not([open])")];
    for (const d of closed) d.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const d of closed) d.open = false;
  });
})();
