"use strict";
// A head of a column puts the rows under it in order; a group of rows stays together.
document.querySelectorAll("table").forEach((table) => {
  const value = (row, at) => {
    const text = row.cells[at] ? row.cells[at].textContent.trim() : "";
    const figure = Number(text.replace(/[, ]/g, ""));
    return text === "–" || text === "" ? -Infinity : Number.isNaN(figure) ? text : figure;
  };
  table.querySelectorAll("thead th").forEach((head) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") !== "descending";
      table.querySelectorAll("thead th").forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      for (const body of table.tBodies) {
        const rows = [...body.rows].filter((row) => !row.classList.contains("across"));
        rows.sort((one, other) => {
          const [a, b] = [value(one, head.cellIndex), value(other, head.cellIndex)];
          const order = typeof a === typeof b ? (a > b) - (a < b) : typeof a === "string" ? 1 : -1;
          return down ? -order : order;
        });
        body.append(...rows);
      }
    });
  });
});
// A link to a trail opens it.
const open = () => {
  const aim = location.hash && document.getElementById(location.hash.slice(1));
  if (aim && aim.tagName === "DETAILS") aim.open = true;
};
addEventListener("hashchange", open);
open();
const folds = () => document.querySelectorAll(".book details");
addEventListener("beforeprint", () => folds().forEach((fold) => { fold.open = true; }));
// With what is disputed decided the one way or the other.
const otherwise = document.getElementById("otherwise");
if (otherwise) {
  otherwise.hidden = false;
  otherwise.addEventListener("click", () => {
    const on = otherwise.getAttribute("aria-pressed") !== "true";
    otherwise.setAttribute("aria-pressed", String(on));
    document.querySelectorAll(".verdict [data-otherwise]").forEach((one) => {
      [one.textContent, one.dataset.otherwise] = [one.dataset.otherwise, one.textContent];
    });
  });
}
