package browsertest

import (
	"encoding/json"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/chromedp"
)

// A Picture is what a screen reader is told of a picture.
type Picture struct{ Name, Description string }

// Pictures returns the pictures of the page as assistive technology gets them.
func (p *Page) Pictures(t testing.TB) []Picture {
	t.Helper()
	tree, err := chromedp.Call(p.ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		t.Fatal(err)
	}
	text := func(v *accessibility.Value) (s string) {
		if v != nil && len(v.Value) > 0 {
			if err := json.Unmarshal([]byte(v.Value), &s); err != nil {
				t.Fatal(err)
			}
		}
		return s
	}
	var all []Picture
	for _, n := range tree.Nodes {
		if role := text(n.Role); !n.Ignored && (role == "image" || role == "img") {
			all = append(all, Picture{text(n.Name), text(n.Description)})
		}
	}
	return all
}
