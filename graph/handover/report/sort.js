"use strict";
/* A heading puts the rows in its order, and pressed again in the other. */
for (const table of document.querySelectorAll("table.sorted")) {
  const heads = [...table.tHead.rows[0].cells], body = table.tBodies[0];
  const value = (row, at, isNumber) => {
    const cell = row.cells[at], text = cell.dataset.value ?? cell.textContent.trim();
    return isNumber ? Number.parseFloat(text) || 0 : text.toLocaleLowerCase();
  };
  heads.forEach((head, at) => head.firstElementChild.addEventListener("click", () => {
    const way = head.getAttribute("aria-sort") === "ascending" ? "descending" : "ascending";
    const isNumber = head.dataset.kind === "number", sign = way === "ascending" ? 1 : -1;
    heads.forEach((other) => other.removeAttribute("aria-sort"));
    head.setAttribute("aria-sort", way);
    const rows = [...body.rows].map((row) => [value(row, at, isNumber), row]);
    rows.sort(([one], [other]) => sign * (isNumber ? one - other : one.localeCompare(other)));
    body.append(...rows.map(([, row]) => row));
  }));
}
