package browsertest

import (
	_ "embed"
	"fmt"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// checks is a script that defines one object of functions, each of which
// returns a list of faults.
//
//go:embed checks.js
var checks string

func (p *Page) run(t testing.TB, call string) []string {
	t.Helper()
	return Eval[[]string](t, p, "(() => {"+checks+"\nreturn checks."+call+" })()")
}

// Faults returns all that is wrong with the page as it stands: what the
// functions below find, with text of at least 11 pixels.
func (p *Page) Faults(t testing.TB) []string {
	t.Helper()
	var all []string
	all = append(all, p.LabelFaults(t)...)
	all = append(all, p.PictureFaults(t)...)
	all = append(all, p.SmallText(t, 11)...)
	all = append(all, p.ScrollFaults(t)...)
	all = append(all, p.ContrastFaults(t)...)
	all = append(all, p.KeyboardFaults(t)...)
	for _, address := range p.Requests() {
		all = append(all, "the page asks for "+address)
	}
	for _, text := range p.Console() {
		all = append(all, "the page complains: "+text)
	}
	return all
}

// LabelFaults returns the texts in pictures that reach out of their picture,
// and those that lie over each other.
func (p *Page) LabelFaults(t testing.TB) []string { t.Helper(); return p.run(t, "labels()") }

// PictureFaults returns the pictures without role, title or description.
func (p *Page) PictureFaults(t testing.TB) []string { t.Helper(); return p.run(t, "pictures()") }

// SmallText returns the texts that are shown smaller than so many pixels.
func (p *Page) SmallText(t testing.TB, pixels float64) []string {
	t.Helper()
	return p.run(t, fmt.Sprintf("small(%g)", pixels))
}

// ScrollFaults returns what makes the page wider than its window.
func (p *Page) ScrollFaults(t testing.TB) []string { t.Helper(); return p.run(t, "scroll()") }

// ContrastFaults returns the texts whose contrast with what is behind them is
// below that of level AA: 4.5, or 3 for large text (WCAG 2.2, criterion 1.4.3).
func (p *Page) ContrastFaults(t testing.TB) []string { t.Helper(); return p.run(t, "contrast()") }

// KeyboardFaults presses Tab through the page. It returns the controls that are
// never reached, and those that do not show that they are.
func (p *Page) KeyboardFaults(t testing.TB) []string {
	t.Helper()
	n := Eval[int](t, p, "(() => {"+checks+"\nreturn checks.controls() })()")
	for range n + 2 {
		p.Press(t, kb.Tab)
		if Eval[bool](t, p, "(() => {"+checks+"\nreturn checks.step() })()") {
			break
		}
	}
	return p.run(t, "missed()")
}
