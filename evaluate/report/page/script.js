"use strict";
// What is ticked is kept in this browser between openings, under the key of the form or the
// sheet; where the browser keeps nothing, until the page is closed.
const kept = {
  get(key) {
    try {
      const ticks = JSON.parse(localStorage.getItem("wreckoner-" + key));
      return Array.isArray(ticks) ? ticks : [];
    } catch { return []; }
  },
  // Nothing ticked leaves nothing behind. Says whether it was kept.
  set(key, ticks) {
    try {
      if (ticks.some(t => t && t !== "0")) localStorage.setItem("wreckoner-" + key, JSON.stringify(ticks));
      else localStorage.removeItem("wreckoner-" + key);
      return true;
    } catch { return false; }
  },
  words: is => is ? "Your ticks are kept in this browser." : "This browser keeps nothing: your ticks are gone when the page is closed.",
};
// At the car: the price to stop at moves with the answers. The prices of all patterns were
// worked out beforehand; the first answer counts ones, the second threes, and so on.
for (const form of document.querySelectorAll("form.inspect")) {
  const stops = form.dataset.stops.split(","), step = Number(form.dataset.step), prefix = form.dataset.prefix;
  const pays = new Map(form.dataset.pays.split(",").map(text => text.split(":")));
  const price = form.querySelector(".price"), pay = form.querySelector(".pay");
  const money = pounds => prefix + pounds.toLocaleString("en-GB", { minimumFractionDigits: pounds % 1 ? 2 : 0 });
  const groups = [...form.querySelectorAll("fieldset")], note = form.querySelector(".kept");
  const answers = () => groups.map(group => group.querySelector("input:checked").value);
  const show = () => {
    let pattern = 0, unit = 1;
    for (const answer of answers()) {
      pattern += unit * Number(answer);
      unit *= 3;
    }
    const stop = stops[pattern] ?? "";
    form.classList.toggle("unknown", stop === "" || stop === "-");
    pay.textContent = "";
    if (stop === "") price.textContent = `too unusual to be worked out: write what you found into the damage code of lot ${form.dataset.lot} and run wreckoner probe`;
    else if (stop === "-") price.textContent = "these answers can't all be right: worse damage is there and lesser damage of the same kind is not";
    else if (stop === "0") price.textContent = "don't bid";
    else {
      price.textContent = money(Number(stop) * step);
      if (pays.has(stop)) pay.textContent = "to pay " + money(Number(pays.get(stop)));
    }
  };
  const changed = () => {
    note.textContent = kept.words(kept.set(form.dataset.key, answers()));
    show();
  };
  form.addEventListener("change", changed);
  form.addEventListener("reset", () => setTimeout(changed));
  form.addEventListener("submit", event => event.preventDefault());
  kept.get(form.dataset.key).forEach((answer, i) => {
    const input = groups[i] && [...groups[i].querySelectorAll("input")].find(x => x.value === answer);
    if (input) input.checked = true;
  });
  form.hidden = false;
  show();
}
(() => {
  const form = document.querySelector("form.tools");
  if (!form) return;
  const blocks = [...document.querySelectorAll("section.lots")].map(section => ({ section, lots: [...section.querySelectorAll("details.lot")] }));
  const sheets = [...document.querySelectorAll(".sheet")].map(page => ({ page, body: page.querySelector("tbody") }));
  const rows = sheets.flatMap(s => [...s.body.rows]);
  const sheetData = document.querySelector("#sheets")?.dataset;
  const size = Number(sheetData?.size) || 20;
  const filter = form.closest("details"), output = filter.querySelector("output");
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
    const pages = [[]];
    let room = size;
    for (const row of kept) {
      const takes = Number(row.dataset.size);
      if (takes > room) pages.push([]), room = size;
      pages.at(-1).push(row);
      room -= takes;
    }
    sheets.forEach(({ page, body }, i) => {
      body.replaceChildren(...pages[i] ?? []);
      page.hidden = i >= pages.length || kept.length === 0;
      page.querySelector(".pages").textContent = pages.length;
    });
    addUp();
  };

  // What is to be paid, down the sheet: of the lots ticked as bought, or of all where none is.
  const bought = row => row.querySelector(".bought input").checked;
  const addUp = () => {
    const shown = rows.filter(row => row.isConnected);
    const some = shown.some(bought);
    let total = 0;
    for (const row of shown) {
      if (!some || bought(row)) total += Number(row.dataset.pay);
      row.querySelector(".total output").textContent = sheetData.prefix + Math.round(total).toLocaleString("en-GB");
    }
  };
  const sheetBoxes = rows.flatMap(row => [...row.querySelectorAll("input")]), clear = document.querySelector("#clear");
  const ticked = () => {
    const stored = kept.set(sheetData.key, sheetBoxes.map(box => box.checked));
    document.querySelector("#sheets .kept").textContent = kept.words(stored);
    addUp();
  };
  if (sheetData) {
    kept.get(sheetData.key).forEach((on, i) => { if (sheetBoxes[i]) sheetBoxes[i].checked = on === true; });
    for (const { body } of sheets) body.addEventListener("change", ticked);
    clear.addEventListener("click", () => {
      for (const box of sheetBoxes) box.checked = false;
      ticked();
    });
  }

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
  filter.hidden = false;
  document.querySelectorAll(".scripted").forEach(e => { e.hidden = false; });
  if (sheetData) addUp();
  show();
})();
