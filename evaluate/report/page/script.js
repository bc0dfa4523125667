"use strict";
(() => {
  const form = document.querySelector("form.tools");
  if (!form) return;
  const blocks = [...document.querySelectorAll("section.lots")].map(section => ({ section, lots: [...section.querySelectorAll("details.lot")] }));
  const sheets = [...document.querySelectorAll(".sheet")].map(page => ({ page, body: page.querySelector("tbody") }));
  const rows = sheets.flatMap(s => [...s.body.rows]);
  const size = Number(document.querySelector("#sheets")?.dataset.size) || 20;
  const output = form.querySelector("output");
  const field = name => form.elements.namedItem(name).value;
  const number = (text, without) => text === undefined || text === "" ? without : Number(text);

  // What lacks the figure that is sorted by comes last.
  const compare = by => {
    const down = by.startsWith("-"), key = down ? by.slice(1) : by;
    const value = lot => number(lot.dataset[key], NaN);
    return (a, b) => {
      const x = value(a), y = value(b);
      if (isNaN(x) || isNaN(y)) return isNaN(x) - isNaN(y);
      return down ? y - x : x - y;
    };
  };

  let order = "", onSheet = rows.length;
  const show = () => {
    const category = field("category"), verdict = field("verdict"), by = field("sort");
    const least = number(field("least"), -Infinity), most = number(field("most"), Infinity);
    const shown = new Set();
    let all = 0;
    for (const { section, lots } of blocks) {
      const end = section.lastElementChild.matches(".hint") ? section.lastElementChild : null;
      if (by !== order) for (const lot of by ? [...lots].sort(compare(by)) : lots) section.insertBefore(lot, end);
      let here = 0;
      for (const lot of lots) {
        const d = lot.dataset, bid = Number(d.bid);
        lot.hidden = category !== "" && d.category !== category || verdict !== "" && d.verdict !== verdict || bid < least || bid > most;
        if (!lot.hidden) shown.add(lot.id), here++;
      }
      section.classList.toggle("none", here === 0);
      all += lots.length;
    }
    order = by;
    output.textContent = shown.size === all ? `${all} lots` : `${shown.size} of ${all} lots`;
    const kept = rows.filter(row => shown.has(row.dataset.id));
    if (kept.length === rows.length && onSheet === rows.length) return;
    onSheet = kept.length;
    const pages = Math.ceil(kept.length / size);
    sheets.forEach(({ page, body }, i) => {
      body.replaceChildren(...kept.slice(i * size, (i + 1) * size));
      page.hidden = i >= pages;
      page.querySelector(".pages").textContent = pages;
    });
  };

  form.addEventListener("input", show);
  form.addEventListener("reset", () => setTimeout(show));
  form.addEventListener("submit", event => event.preventDefault());
  // A link to a lot opens it.
  const open = () => {
    const lot = document.getElementById(location.hash.slice(1));
    if (lot?.matches("details")) lot.open = true;
  };
  addEventListener("hashchange", open);
  open();
  form.hidden = false;
  document.querySelectorAll(".scripted").forEach(e => { e.hidden = false; });
  show();
})();
