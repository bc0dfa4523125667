"use strict";
(() => {
  const source = document.getElementById("sale");
  if (!source) return;
  const sale = JSON.parse(source.textContent), lots = sale.lots;
  const $ = id => document.getElementById(id);
  const make = (name, text, kind) => {
    const e = document.createElement(name);
    if (text !== undefined) e.textContent = text;
    if (kind) e.className = kind;
    return e;
  };

  // Kept in this browser between openings; where it keeps nothing, until the page is closed.
  const key = "wreckoner-plan-" + sale.id;
  let results = [], kept = true;
  try {
    const found = JSON.parse(localStorage.getItem(key) || "[]");
    if (Array.isArray(found)) results = found.filter(r => r && Number.isInteger(r.i) && lots[r.i]);
  } catch { kept = false; }
  const keep = () => {
    try { localStorage.setItem(key, JSON.stringify(results)); kept = true; } catch { kept = false; }
  };

  const grouped = n => String(n).replace(/\B(?=(\d{3})+$)/g, ",");
  const money = pence => {
    const rest = Math.abs(pence) % 100, whole = Math.floor(Math.abs(pence) / 100);
    return (pence < 0 ? "-" : "") + sale.sign + grouped(whole) + (rest ? "." + String(rest).padStart(2, "0") : "");
  };
  const about = pence => money(Math.round(pence / 100) * 100);
  const priceOf = steps => money(Math.round(steps * sale.step * 100));

  // What a lot ties up at a step, from 1, in pence: linear between its knots.
  const tiedAt = (lot, step) => {
    const k = lot.k;
    for (let a = 0; a + 3 < k.length; a += 2) {
      if (step <= k[a + 2]) return Math.floor(k[a + 1] + (k[a + 3] - k[a + 1]) * (step - k[a]) / (k[a + 2] - k[a]) + 0.5);
    }
    return k[k.length - 1];
  };
  const lastStep = lot => lot.k.length ? lot.k[lot.k.length - 2] : 0;
  // What a lot bought at a hammer price ties up, carried on at the slope of the last step.
  const bought = (lot, pence) => {
    const n = lastStep(lot), j = Math.round(pence / 100 / sale.step);
    if (n === 0) return pence;
    if (j <= n) return tiedAt(lot, Math.max(j, 1));
    if (n === 1) return tiedAt(lot, 1) + pence - Math.round(sale.step * 100);
    return tiedAt(lot, n) + (j - n) * (tiedAt(lot, n) - tiedAt(lot, n - 1));
  };

  // What is free when lot i closes; of lots that close together, when the first does.
  const freeAt = i => {
    const by = new Map(results.map(r => [r.i, r]));
    let bays = sale.bays, cash = sale.cash;
    for (let j = 0; j <= lots[i].g; j++) {
      bays += lots[j].b || 0;
      if (cash >= 0) cash += lots[j].m || 0;
      const r = by.get(j);
      if (j < lots[i].g && r && r.won) {
        bays = Math.max(0, bays - 1);
        if (cash >= 0) cash = Math.max(0, cash - bought(lots[j], r.h));
      }
    }
    return { bays, cash };
  };
  // What is free now, all results counted.
  const freeNow = () => {
    const by = new Map(results.map(r => [r.i, r])), last = lastReported();
    let bays = sale.bays, cash = sale.cash;
    for (let j = 0; j <= last; j++) {
      bays += lots[j].b || 0;
      if (cash >= 0) cash += lots[j].m || 0;
      const r = by.get(j);
      if (r && r.won) {
        bays = Math.max(0, bays - 1);
        if (cash >= 0) cash = Math.max(0, cash - bought(lots[j], r.h));
      }
    }
    return { bays, cash };
  };

  // How many steps the money covers, of n.
  const covered = (lot, n, cash) => {
    n = Math.min(n, lot.l);
    if (cash < 0 || n === 0 || tiedAt(lot, n) <= cash) return n;
    let low = 0, high = n;
    while (low < high) {
      const mid = (low + high) >>> 1;
      if (tiedAt(lot, mid + 1) > cash) high = mid; else low = mid + 1;
    }
    for (n = low; n > 0 && tiedAt(lot, n) > cash; n--);
    return n;
  };
  // The stop of lot i in steps, 0 for no bid: the table, linear between its levels.
  const stopAt = (i, bays, cash) => {
    const lot = lots[i], rows = lot.s, levels = sale.levels;
    if (bays < 1 || rows.length === 0) return 0;
    const row = rows[Math.min(bays, rows.length) - 1];
    if (cash < 0) return row[0];
    if (levels[0] <= 0) return 0;
    const n = row.length, x = cash / 100 / levels[0], a = Math.floor(x), at = j => row[j] * sale.step;
    let stop = at(n - 1);
    if (a === 0) stop = x * at(0);
    else if (a < n) stop = at(a - 1) + (x - a) * (at(a) - at(a - 1));
    return covered(lot, Math.floor(stop / sale.step + 1e-9), cash);
  };
  const stopOf = i => { const f = freeAt(i); return stopAt(i, f.bays, f.cash); };

  const lastReported = () => results.reduce((m, r) => Math.max(m, r.i), -1);
  let chosen = -1; // a lot picked from the list
  // Those not reported: still to come, or closed together with the last one reported.
  const open = () => {
    const done = new Set(results.map(r => r.i)), last = lastReported();
    return lots.map((l, j) => j).filter(j => !done.has(j) && (j > last || lots[j].g === lots[last].g));
  };
  const current = () => {
    if (chosen >= 0 && open().includes(chosen)) return chosen;
    const next = open().find(j => !lots[j].x && stopOf(j) > 0);
    return next === undefined ? -1 : next;
  };
  const together = i => lots.map((l, j) => j).filter(j => lots[j].g === lots[i].g);

  const card = i => {
    const box = make("div", undefined, "card"), lot = lots[i], f = freeAt(i), steps = stopOf(i);
    const top = make("p", undefined, "lotno");
    top.append(make("b", lot.n), make("span", lot.t ? "closes " + lot.t : ""));
    box.append(top, make("p", lot.c, "carname"), make("p", steps ? "stop at" : "", "at"), make("p", steps ? priceOf(steps) : "don't bid", steps ? "big" : "big off"));
    if (steps && f.cash >= 0) box.append(make("p", "needs " + about(tiedAt(lot, steps)) + " of the " + about(f.cash) + " there is", "needs"));
    box.append(make("p", "own limit " + priceOf(lot.l), "needs own"));
    const before = open().filter(j => j < i);
    if (before.length && i !== chosen) box.append(make("p", "Don't bid before it: " + (before.length > 6 ? before.length + " lots, " + lots[before[0]].n + " to " + lots[before[before.length - 1]].n : before.map(j => lots[j].n).join(", ")) + ".", "needs skip"));
    const group = together(i);
    if (group.length > 1) {
      const out = group.filter(j => stopOf(j) > 0), spoken = out.reduce((sum, j) => sum + tiedAt(lots[j], stopOf(j)), 0);
      let text = "Lots " + group.map(j => lots[j].n).join(", ") + " close together: " +
        (out.length ? "bid on " + out.map(j => lots[j].n + " up to " + priceOf(stopOf(j))).join(", ") : "bid on none of them") + ".";
      if (out.length && f.cash >= 0) {
        text += " " + about(spoken) + " is spoken for until all are known.";
        if (spoken > f.cash) text += " That is more than there is: leave the last of them out.";
      }
      box.append(make("p", text, "needs"));
    }
    return box;
  };

  const item = i => {
    const li = make("li"), b = make("button"), mid = make("span"), steps = lots[i].x ? 0 : stopOf(i);
    b.type = "button";
    b.dataset.lot = i;
    mid.append(make("span", lots[i].c), make("small", lots[i].t || ""));
    b.append(make("b", lots[i].n), mid, make("span", steps ? priceOf(steps) : "don't bid", steps ? "s" : "s off"));
    b.addEventListener("click", () => { chosen = i; say(); show(); scrollTo(0, 0); });
    li.append(b);
    return li;
  };

  const csv = text => /[",\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
  const file = () => "lot,hammer,won\n" + [...results].sort((a, b) => a.i - b.i).map(r => csv(lots[r.i].n) + "," + (r.h ? r.h / 100 : "") + "," + (r.won ? "yes" : "no") + "\n").join("");
  const todo = r => {
    const lot = lots[r.i], box = make("div", undefined, "yours");
    box.append(make("p", lot.n + " " + lot.c + " at " + money(r.h) + " is yours: " + (lot.p ? "pay by " + lot.p : "ask the site today by when to pay") + "; " +
      (lot.d ? "collect by " + lot.d : "ask by when to collect") + ". Then keep its estimate:"));
    if (lot.f) { const p = make("p"); p.append(make("code", lot.f.replace("HAMMER", String(r.h / 100)))); box.append(p); }
    return box;
  };

  const said = $("said");
  const say = (...texts) => said.replaceChildren(...texts.map(t => typeof t === "string" ? make("p", t) : t), ...(kept ? [] : [make("p", "This browser keeps nothing: leave the page open, and copy the results before you close it.")]));

  let blob = "";
  const show = () => {
    const f = freeNow(), i = current();
    const line = (into, text, big) => { into.replaceChildren(); if (text) into.append(text + " ", make("b", big)); };
    line($("money"), f.cash >= 0 ? "money left" : "", f.cash >= 0 ? about(f.cash) : "");
    line($("bays"), sale.any ? "" : "bays left", String(f.bays));
    if (i < 0) $("now").replaceChildren(make("p", "Nothing more to bid on, with what is left.", "carname"));
    else $("now").replaceChildren(card(i));
    $("gone").disabled = $("mine").disabled = $("price").disabled = i < 0;
    $("undo").disabled = results.length === 0;
    $("mine").textContent = "Mine at";
    const rest = open().filter(j => j !== i);
    $("next").replaceChildren(...rest.filter(j => !lots[j].x && stopOf(j) > 0).slice(0, 4).map(item));
    $("all").replaceChildren(...rest.map(item));
    $("won").replaceChildren(...results.filter(r => r.won).map(todo));
    $("file").value = file();
    if (blob) URL.revokeObjectURL(blob);
    blob = URL.createObjectURL(new Blob([file()], { type: "text/csv" }));
    $("save").href = blob;
  };

  // An amount as people type it, in pence: NaN where it is none, 0 where nothing is typed.
  const typed = () => {
    const text = $("price").value.replace(/[\s,]/g, "").replace(sale.sign.trim(), "");
    if (text === "") return 0;
    return /^\d+(\.\d{1,2})?$/.test(text) && Number(text) > 0 ? Math.round(Number(text) * 100) : NaN;
  };
  const tap = won => {
    const i = current(), pence = typed();
    if (i < 0) return;
    if (isNaN(pence)) { say('"' + $("price").value + '" is not a price; type it as 1200.'); return; }
    if (won && pence === 0) { say("Type what you paid, before fees, then tap Mine at."); $("price").focus(); return; }
    const before = freeNow(), stop = stopOf(i), notes = [];
    results.push({ i, h: pence, won });
    keep();
    chosen = -1;
    $("price").value = "";
    if (won) {
      const lot = lots[i], ties = bought(lot, pence);
      notes.push(todo(results[results.length - 1]));
      if (pence > Math.round(stop * sale.step * 100)) notes.push("That is above the stop of " + (stop ? priceOf(stop) : "no bid") + ".");
      if (before.cash >= 0 && ties > before.cash + comingUpTo(i)) notes.push("It ties up " + about(ties) + ", and " + about(before.cash) + " was left: from here on no money is left.");
      if (!sale.any && before.bays + baysUpTo(i) < 1) notes.push("No bay was free for it.");
    } else notes.push("Lot " + lots[i].n + ": gone" + (pence ? " at " + money(pence) : "") + ".");
    say(...notes);
    show();
    scrollTo(0, 0);
  };
  const between = (i, what) => { let sum = 0; for (let j = results.slice(0, -1).reduce((m, r) => Math.max(m, r.i), -1) + 1; j <= i; j++) sum += lots[j][what] || 0; return sum; };
  const comingUpTo = i => between(i, "m"), baysUpTo = i => between(i, "b");

  $("gone").addEventListener("click", () => tap(false));
  $("mine").addEventListener("click", () => tap(true));
  $("undo").addEventListener("click", () => {
    const r = results.pop();
    keep();
    chosen = -1;
    say(r ? "Taken back: lot " + lots[r.i].n + "." : "");
    show();
  });
  $("again").addEventListener("click", () => {
    if (!confirm("Forget all results of this sale?")) return;
    results = [];
    keep();
    chosen = -1;
    say();
    show();
  });
  $("copy").addEventListener("click", () => {
    const box = $("file");
    box.focus();
    box.select();
    try { document.execCommand("copy"); } catch { /* it is selected: copy it by hand */ }
  });
  $("tap").addEventListener("submit", event => event.preventDefault());

  document.body.classList.add("live");
  $("live").hidden = false;
  keep();
  say();
  show();
})();
