package browsertest

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// Tap scrolls the first element that the selector names to the middle of the window and
// touches its middle, as a finger does.
func (p *Page) Tap(t testing.TB, selector string) {
	t.Helper()
	at := Eval[[]float64](t, p, fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e) return [];
		e.scrollIntoView({block: "center", behavior: "instant"});
		const r = e.getBoundingClientRect();
		return [r.left + r.width / 2, r.top + r.height / 2];
	})()`, selector))
	if len(at) != 2 {
		t.Fatalf("nothing on the page is %q", selector)
	}
	err := chromedp.Do(p.ctx, chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
		if _, err := cdp.Call(ctx, tab, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true}); err != nil {
			return err
		}
		for _, x := range []input.DispatchTouchEventParams{
			{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: at[0], Y: at[1]}}},
			{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}},
		} {
			if _, err := cdp.Call(ctx, tab, input.DispatchTouchEvent, x); err != nil {
				return err
			}
		}
		return nil
	}))
	if err != nil {
		t.Fatalf("tapping %q: %v", selector, err)
	}
}
