// Orders and narrows the table of coupons. Without it the table is just as complete.
"use strict";
(() => {
  const table = document.getElementById("coupons");
  const body = table.tBodies[0];
  const heads = [...table.tHead.rows[0].cells];
  const value = (row, column) => row.cells[column].dataset.v ?? row.cells[column].textContent.trim();
  const order = (a, b) => {
    if (a === "" || b === "") return (a === "") - (b === "");
    const [x, y] = [Number(a), Number(b)];
    return Number.isNaN(x) || Number.isNaN(y) ? a.localeCompare(b, undefined, { numeric: true }) : x - y;
  };
  heads.forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const up = head.getAttribute("aria-sort") !== "ascending";
      heads.forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      const rows = [...body.rows].map((row) => [value(row, column), row]);
      // What was not measured stays at the end either way.
      rows.sort(([a], [b]) => (a === "" || b === "" ? order(a, b) : (up ? 1 : -1) * order(a, b)));
      body.append(...rows.map(([, row]) => row));
    });
  });
  const tools = document.createElement("p");
  tools.className = "tools";
  const find = document.createElement("input");
  find.type = "search";
  const outcome = document.createElement("select");
  const outcomes = [...new Set([...body.rows].map((row) => row.dataset.outcome))].sort();
  outcome.append(new Option("every result", ""), ...outcomes.map((text) => new Option(text, text)));
  const shown = document.createElement("span");
  const label = (text, field) => {
    const made = document.createElement("label");
    made.append(text + " ", field);
    return made;
  };
  const narrow = () => {
    const text = find.value.trim().toLowerCase();
    let count = 0;
    for (const row of body.rows) {
      row.hidden = !(row.textContent.toLowerCase().includes(text) && (!outcome.value || row.dataset.outcome === outcome.value));
      count += !row.hidden;
    }
    shown.textContent = `${count} of ${body.rows.length} coupons`;
  };
  find.addEventListener("input", narrow);
  outcome.addEventListener("change", narrow);
  tools.append(label("Only lines with", find), label("and", outcome), shown);
  table.parentElement.before(tools);
  narrow();
})();
