package browsertest

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// Tap touches the first element that the selector names, as a finger does: in its middle, where
// nothing may lie over it. Where it is out of sight, it is scrolled to the middle of the window.
func (p *Page) Tap(t testing.TB, selector string) {
	t.Helper()
	at := Eval[[]float64](t, p, fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e || e.disabled || !e.checkVisibility()) return [];
		const middle = () => {
			const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
			const top = document.elementFromPoint(x, y);
			return top && e.contains(top) ? [x, y] : [];
		};
		const seen = middle();
		if (seen.length) return seen;
		e.scrollIntoView({block: "center", behavior: "instant"});
		return middle();
	})()`, selector))
	if len(at) != 2 {
		t.Fatalf("%q cannot be tapped: it is not there, or something lies over it", selector)
	}
	err := chromedp.Do(p.ctx,
		chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
			_, err := cdp.Call(ctx, tab, emulation.SetTouchEmulationEnabled,
				emulation.SetTouchEmulationEnabledParams{Enabled: true})
			return err
		}),
		chromedp.TapXY(at[0], at[1]),
	)
	if err != nil {
		t.Fatalf("tapping %q: %v", selector, err)
	}
}

// SmallTargets returns the buttons, fields, folds and links to save by that are shown and are less
// than so many pixels wide or high.
func (p *Page) SmallTargets(t testing.TB, pixels float64) []string {
	t.Helper()
	return Eval[[]string](t, p, fmt.Sprintf(`(() => {
		const all = [...document.querySelectorAll("button,input,select,summary,a[download],nav a")];
		const sizes = all.filter(e => e.checkVisibility()).map(e => ({ e, r: e.getBoundingClientRect() }));
		return sizes.filter(x => x.r.width < %[1]g || x.r.height < %[1]g).map(x =>
			(x.e.id || x.e.textContent).trim() + " is " + Math.round(x.r.width) + " by " + Math.round(x.r.height));
	})()`, pixels))
}

// FaintText returns the texts whose contrast with what is behind them is below a ratio,
// large or not.
func (p *Page) FaintText(t testing.TB, ratio float64) []string {
	t.Helper()
	return p.run(t, fmt.Sprintf("contrast(%g)", ratio))
}
