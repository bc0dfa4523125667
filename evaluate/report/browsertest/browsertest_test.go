package browsertest

import (
	"slices"
	"strings"
	"testing"
)

// page wraps a body in a page without faults of its own.
func page(style, body string) []byte {
	return []byte(`<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>page</title>
<style>body{margin:8px;font:16px sans-serif;background:#fff;color:#222}` + style + `</style><body>` + body + `</body></html>`)
}

const good = `<h1>Bench</h1><p>All is <a href="#x">well</a>.</p><details><summary>more</summary><button>press</button></details>
<svg viewBox="0 0 300 60" width="300" role="img"><title>two</title><desc>one and two</desc>
<text x="10" y="20" font-size="12">one</text><text x="10" y="50" font-size="12">two</text></svg>`

func TestAGoodPageHasNoFault(t *testing.T) {
	b := Start(t)
	for name, v := range Views() {
		p := b.Show(t, page("", good), v)
		p.OpenDetails(t)
		for _, f := range p.Faults(t) {
			t.Errorf("%s: %s", name, f)
		}
	}
}

// Each fault that the harness is there to find is planted, and found.
func TestPlantedFaults(t *testing.T) {
	b := Start(t)
	svg := func(inside string) string {
		return `<svg viewBox="0 0 300 60" width="300" role="img"><title>t</title><desc>d</desc>` + inside + `</svg>`
	}
	for _, c := range []struct{ name, style, body, want string }{
		{"label outside", "", svg(`<text x="280" y="20">too long</text>`), `the label "too long" reaches out`},
		{"labels over each other", "", svg(`<text x="10" y="20">one</text><text x="20" y="24">two</text>`),
			`"one" and "two" lie over each other`},
		{"no description", "", `<svg viewBox="0 0 9 9" width="9" role="img"><title>t</title></svg>`, "has no desc"},
		{"no role", "", `<svg viewBox="0 0 9 9" width="9"><title>t</title><desc>d</desc></svg>`, "no role img"},
		{"small label", "", `<svg viewBox="0 0 600 60" width="300" role="img"><title>t</title><desc>d</desc><text x="1" y="20" font-size="12">tiny</text></svg>`, `"tiny" is 6.0 pixels`},
		{"small text", "", `<p style="font-size:9px">tiny</p>`, `"tiny" is 9.0 pixels`},
		{"sideways", "", `<div style="width:2000px">wide</div>`, "the page is 20"},
		// #949494 on white is 3.03 to 1; #767676, at 4.54, is the lightest grey that
		// passes (WCAG 2.2, understanding criterion 1.4.3: #777777 gives 4.47).
		{"faint text", "", `<p style="color:#777777">faint</p>`, `"faint": contrast 4.48, below 4.5`},
		{"faint label", "", svg(`<text x="10" y="20" fill="#949494">faint</text>`), `"faint": contrast 3.03`},
		{"label on a bar", "", svg(`<rect x="0" y="0" width="99" height="50" fill="#333"/><text x="10" y="20">dark</text>`),
			`"dark": contrast`},
		{"faint by opacity", "", `<p style="opacity:.4">ghost</p>`, `"ghost": contrast`},
		{"request", "", `<img alt="x" src="http://wreckoner.invalid/x.png">`,
			"the page asks for http://wreckoner.invalid/x.png"},
		{"script fails", "", `<script>nothing.here()</script>`, "the page complains"},
		{"focus is not shown", "button{outline:none!important}", `<button>press</button>`, `"press" does not show`},
		{"keyboard trap", "", `<button onkeydown="event.preventDefault()">first</button><button>second</button>`,
			`does not reach button "second"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := b.Show(t, page(c.style, c.body), View{Width: 390}).Faults(t)
			if !slices.ContainsFunc(faults, func(f string) bool { return strings.Contains(f, c.want) }) {
				t.Errorf("got %q, want one with %q", faults, c.want)
			}
		})
	}
}

// The lightest grey that passes on white, as WCAG's own pages say.
func TestContrastAtTheEdge(t *testing.T) {
	b := Start(t)
	if f := b.Show(t, page("", `<p style="color:#767676">just</p>`), View{}).ContrastFaults(t); len(f) > 0 {
		t.Errorf("#767676 on white: %q", f)
	}
}

func TestWithoutScripts(t *testing.T) {
	b := Start(t)
	body := `<p id="p">plain</p><script>document.getElementById("p").textContent = "scripted"</script>`
	for off, want := range map[bool]string{false: "scripted", true: "plain"} {
		p := b.Show(t, page("", body), View{NoScript: off})
		if got := Eval[string](t, p, `document.getElementById("p").textContent`); got != want {
			t.Errorf("scripts off %t: the page says %q", off, got)
		}
		if f := p.Faults(t); len(f) > 0 {
			t.Errorf("scripts off %t: %q", off, f)
		}
	}
}

func TestPages(t *testing.T) {
	b := Start(t)
	body := `<p>one</p><p style="break-before:page">two</p><p style="break-before:page">three</p>`
	n, err := Pages(b.Show(t, page("@page{size:A4;margin:1cm}", body), View{}).PDF(t))
	if err != nil || n != 3 {
		t.Errorf("%d pages, %v; want 3", n, err)
	}
	if _, err := Pages([]byte("<html>")); err == nil {
		t.Error("a page that is no PDF has pages")
	}
}
