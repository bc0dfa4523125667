const checks = (() => {
  const brief = e => (e.textContent || e.getAttribute("aria-label") || e.value || e.id || e.localName).trim().replace(/\s+/g, " ").slice(0, 60);
  const shown = e => e.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true, opacityProperty: true });
  // The text of a picture without its titles.
  const words = t => [...t.childNodes].filter(n => n.nodeType === 3 || n.localName === "tspan").map(n => n.textContent).join("").trim();
  const pictures = () => [...document.querySelectorAll("svg")].filter(s => !s.parentElement.closest("svg") && shown(s));
  const name = s => brief(s.querySelector("title") || s);
  const texts = s => [...s.querySelectorAll("text")].filter(t => shown(t) && words(t) !== "");

  // One pixel of a canvas turns any CSS colour into numbers.
  const pen = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const known = new Map();
  const colour = css => {
    if (!known.has(css)) {
      pen.clearRect(0, 0, 1, 1);
      pen.fillStyle = "#000";
      pen.fillStyle = css;
      pen.fillRect(0, 0, 1, 1);
      const [r, g, b, a] = pen.getImageData(0, 0, 1, 1).data;
      known.set(css, [r, g, b, a / 255]);
    }
    return known.get(css);
  };
  const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
  // Relative luminance and contrast ratio: WCAG 2.2, definitions.
  const luminance = c => {
    const [r, g, b] = c.slice(0, 3).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const behind = e => {
    const layers = [];
    for (; e; e = e.parentElement) {
      const c = colour(getComputedStyle(e).backgroundColor);
      layers.push(c);
      if (c[3] === 1) break;
    }
    // Below all is the browser's own page colour.
    const dark = getComputedStyle(document.documentElement).colorScheme.includes("dark") && matchMedia("(prefers-color-scheme: dark)").matches;
    return layers.reverse().reduce((under, c) => over(c, under), colour(dark ? "#121212" : "#fff"));
  };
  const faded = e => {
    let o = 1;
    for (; e; e = e.parentElement) o *= parseFloat(getComputedStyle(e).opacity);
    return o;
  };
  const meets = (a, b, slack) => a.left < b.right - slack && b.left < a.right - slack && a.top < b.bottom - slack && b.top < a.bottom - slack;

  const focusable = () => {
    const groups = new Set();
    return [...document.querySelectorAll("a[href],area[href],button,input,select,textarea,summary,audio[controls],video[controls],[contenteditable=true],[tabindex]")].filter(e => {
      if (e.disabled || e.tabIndex < 0 || e.type === "hidden" || !shown(e)) return false;
      if (e.localName === "summary" && e !== e.parentElement.querySelector(":scope > summary")) return false;
      if (e.type !== "radio" || e.name === "") return true;
      // Tab reaches one of a group; the arrows reach the others.
      const group = e.name, first = !groups.has(group);
      groups.add(group);
      return first;
    });
  };

  return {
    labels() {
      const faults = [];
      for (const s of pictures()) {
        const frame = s.getBoundingClientRect();
        const boxes = texts(s).map(t => ({ text: words(t), box: t.getBoundingClientRect() }));
        for (const { text, box } of boxes) {
          if (box.left < frame.left - 0.5 || box.right > frame.right + 0.5 || box.top < frame.top - 0.5 || box.bottom > frame.bottom + 0.5)
            faults.push(`${name(s)}: the label "${text}" reaches out of the picture`);
        }
        boxes.forEach((a, i) => boxes.slice(i + 1).forEach(b => {
          if (meets(a.box, b.box, 0.5)) faults.push(`${name(s)}: the labels "${a.text}" and "${b.text}" lie over each other`);
        }));
      }
      return faults;
    },
    pictures() {
      const faults = [];
      for (const s of pictures()) {
        if (s.getAttribute("aria-hidden") === "true") continue;
        if (s.getAttribute("role") !== "img") faults.push(`${name(s)}: the picture has no role img`);
        for (const part of ["title", "desc"])
          if (!s.querySelector(`:scope > ${part}`)?.textContent.trim()) faults.push(`${name(s)}: the picture has no ${part}`);
      }
      return faults;
    },
    small(pixels) {
      const faults = [];
      for (const s of pictures()) for (const t of texts(s)) {
        const m = t.getScreenCTM(), size = parseFloat(getComputedStyle(t).fontSize) * Math.hypot(m.a, m.b);
        if (size < pixels) faults.push(`${name(s)}: the label "${words(t)}" is ${size.toFixed(1)} pixels high`);
      }
      const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      for (let n; (n = walk.nextNode());) {
        const e = n.parentElement;
        if (!n.data.trim() || e.closest("svg,script,style,noscript,template") || !shown(e)) continue;
        const size = parseFloat(getComputedStyle(e).fontSize);
        if (size < pixels) faults.push(`the text "${brief(e)}" is ${size.toFixed(1)} pixels high`);
      }
      return faults;
    },
    scroll() {
      const root = document.documentElement, wide = Math.max(root.scrollWidth, document.body.scrollWidth), room = root.clientWidth;
      if (wide <= room) return [];
      const worst = [...document.body.querySelectorAll("*")].filter(shown).reduce((w, e) => {
        const right = e.getBoundingClientRect().right;
        return right > w.right ? { right, e } : w;
      }, { right: 0, e: document.body });
      return [`the page is ${wide} pixels wide in a window of ${room}; ${worst.e.localName} "${brief(worst.e)}" reaches to ${Math.round(worst.right)}`];
    },
    // Texts below a contrast: least, or where it is not given that of level AA.
    contrast(wanted) {
      const faults = [];
      const judge = (what, e, ink, papers) => {
        const style = getComputedStyle(e), size = parseFloat(style.fontSize), bold = parseInt(style.fontWeight) >= 700;
        const least = wanted || (size >= 24 || bold && size >= 18.66 ? 3 : 4.5);
        for (const paper of papers) {
          const seen = over([ink[0], ink[1], ink[2], ink[3] * faded(e)], paper), r = ratio(seen, paper);
          if (r < least) { faults.push(`${what}: contrast ${r.toFixed(2)}, below ${least}`); return; }
        }
      };
      const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      for (let n; (n = walk.nextNode());) {
        const e = n.parentElement;
        if (!n.data.trim() || e.closest("svg,script,style,noscript,template,option") || e.disabled || !shown(e)) continue;
        judge(`the text "${n.data.trim().slice(0, 60)}"`, e, colour(getComputedStyle(e).color), [behind(e)]);
      }
      for (const s of pictures()) {
        const paper = behind(s);
        const shapes = [...s.querySelectorAll("rect,circle,ellipse,polygon,path")].map(e => {
          const style = getComputedStyle(e);
          return { e, box: e.getBoundingClientRect(), fill: style.fill === "none" ? null : colour(style.fill) };
        }).filter(x => x.fill && x.fill[3] > 0);
        for (const t of texts(s)) {
          const style = getComputedStyle(t), box = t.getBoundingClientRect(), papers = [paper];
          if (style.stroke !== "none" && style.paintOrder.startsWith("stroke")) papers.push(over(colour(style.stroke), paper));
          else for (const x of shapes) if (meets(box, x.box, 0.5)) papers.push(over(x.fill, paper));
          judge(`${name(s)}: the label "${words(t)}"`, t, colour(style.fill), papers);
        }
      }
      return faults;
    },
    // The walk with the keyboard: controls starts it, step notes where it is
    // and whether it is over, missed says what it did not reach.
    controls() {
      const root = document.documentElement;
      getSelection()?.removeAllRanges();
      root.tabIndex = -1;
      root.focus();
      root.blur();
      root.removeAttribute("tabindex");
      window.browsertest = { want: focusable(), got: new Set(), dull: new Set() };
      return window.browsertest.want.length;
    },
    step() {
      const e = document.activeElement, state = window.browsertest;
      if (!e || e === document.body || e === document.documentElement || state.got.has(e)) return true;
      state.got.add(e);
      const style = getComputedStyle(e);
      if ((style.outlineStyle === "none" || parseFloat(style.outlineWidth) === 0) && style.boxShadow === "none") state.dull.add(e);
      return false;
    },
    missed() {
      const state = window.browsertest;
      const radio = e => e.type === "radio" && [...state.got].some(g => g.type === "radio" && g.name === e.name);
      return state.want.filter(e => !state.got.has(e) && !radio(e)).map(e => `the keyboard does not reach ${e.localName} "${brief(e)}"`)
        .concat([...state.dull].map(e => `${e.localName} "${brief(e)}" does not show that it has the focus`));
    },
  };
})();
