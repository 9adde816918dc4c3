"use strict";
/* Each picture before and after: one over the other, and a handle between them that pointer and keys move. */
for (const pair of document.querySelectorAll(".pair.two")) {
  const handle = document.createElement("input");
  const show = () => {
    pair.style.setProperty("--share", handle.value / 100);
    handle.setAttribute("aria-valuetext", `${handle.value} % as scanned, the rest as in the master`);
  };
  Object.assign(handle, { type: "range", min: 0, max: 100, step: 1, value: 50 });
  handle.setAttribute("aria-label", `${pair.dataset.name}: how much is shown as scanned`);
  handle.addEventListener("input", show);
  pair.append(handle);
  pair.classList.add("laid");
  show();
}
/* On paper nothing can be opened. */
addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((part) => { part.open = true; }));
