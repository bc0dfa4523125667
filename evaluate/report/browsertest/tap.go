package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// Tap taps the first element that the selector names, as a finger does: in its middle, where
// nothing may lie over it. The page must have been opened with View.Touch.
func (p *Page) Tap(t testing.TB, selector string) {
	t.Helper()
	at := Eval[[]float64](t, p, fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e || e.disabled || !e.checkVisibility()) return [];
		const inside = () => { const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2, top = document.elementFromPoint(x, y); return top && (e === top || e.contains(top)) ? [x, y] : []; };
		const found = inside();
		if (found.length) return found;
		e.scrollIntoView({block: "center", behavior: "instant"});
		return inside();
	})()`, selector))
	if len(at) != 2 {
		t.Fatalf("%s cannot be tapped: it is not there, or covered", selector)
	}
	if err := chromedp.Do(p.ctx, chromedp.TapXY(at[0], at[1])); err != nil {
		t.Fatal(err)
	}
}

// SmallTargets returns the buttons, links and fields that are shown and are less than so many
// pixels wide or high. Links within a sentence do not count.
func (p *Page) SmallTargets(t testing.TB, pixels float64) []string {
	t.Helper()
	return Eval[[]string](
		t,
		p,
		fmt.Sprintf(
			`[...document.querySelectorAll("button,input,select,summary,a[download],nav a")].filter(e => e.checkVisibility()).map(e => ({ e, r: e.getBoundingClientRect() })).filter(x => x.r.width < %[1]g || x.r.height < %[1]g).map(x => (x.e.id || x.e.textContent).trim() + " is " + Math.round(x.r.width) + " by " + Math.round(x.r.height))`,
			pixels,
		),
	)
}

// FaintText returns the texts whose contrast with what is behind them is below a ratio,
// large or not.
func (p *Page) FaintText(t testing.TB, ratio float64) []string {
	t.Helper()
	return p.run(t, fmt.Sprintf("contrast(%g)", ratio))
}
