package draw

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wreckoner/evaluate/report/browsertest"
)

// galleryPage is a page of every picture.
func galleryPage(t *testing.T, size Size, style string) []byte {
	t.Helper()
	var b strings.Builder
	b.WriteString(`<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>gallery</title>
<style>` + CSS + `:root{color-scheme:light dark}body{margin:16px;background:var(--draw-paper);color:var(--draw-ink);font:15px sans-serif}
section{margin:0 0 28px}h2{font-size:15px;margin:0 0 8px}` + style + `</style>`)
	for i, p := range gallery(size) {
		svg, err := p.SVG()
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "<section id=\"p%d\"><h2>%T</h2>%s</section>\n", i, p, svg)
	}
	b.WriteString("</html>")
	return []byte(b.String())
}

// Every picture in a real browser, at both widths, in both schemes, in the
// narrow and in a wide font: labels inside and clear of each other, text large
// and plain enough, no request, no sideways scroll.
func TestGalleryInABrowser(t *testing.T) {
	b := browsertest.Start(t)
	views := browsertest.Views()
	views["phone print"] = browsertest.View{Width: 390, Print: true, Dark: true}
	views["desk print"] = browsertest.View{Width: 794, Print: true} // A4 at 96 dots an inch
	views["tablet"] = browsertest.View{Width: 768}
	fonts := map[string]string{"arial": "", "wide": `.draw text{font-family:"DejaVu Sans"!important}`}
	for name, v := range views {
		for font, style := range fonts {
			if font == "wide" && v.Dark {
				continue // colours do not move labels
			}
			for _, size := range []Size{Phone, Both} {
				t.Run(fmt.Sprintf("%s %s %d", name, font, size), func(t *testing.T) {
					p := b.Show(t, galleryPage(t, size, style), v)
					for _, f := range p.Faults(t) {
						t.Error(f)
					}
					if title := browsertest.Eval[string](t, p, "document.title"); title != "gallery" {
						t.Errorf("a label ran as a script: the page calls itself %q", title)
					}
					if n := browsertest.Eval[int](t, p,
						`document.querySelectorAll("script,img,svg svg,foreignObject,[onerror]").length`); n != 0 {
						t.Errorf("labels became %d elements", n)
					}
					keep(t, p, name, font, size)
				})
			}
		}
	}
}

// keep writes what was seen to the folder that DRAW_SHOTS names, if it does.
func keep(t *testing.T, p *browsertest.Page, name, font string, size Size) {
	dir := os.Getenv("DRAW_SHOTS")
	if dir == "" || font == "wide" || size != Both {
		return
	}
	for i := range gallery(size) {
		p.Screenshot(t, filepath.Join(dir, fmt.Sprintf("%s-%02d.png", strings.ReplaceAll(name, " ", "-"), i)),
			fmt.Sprintf("#p%d", i))
	}
	p.Screenshot(t, filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".png"), "")
}

func TestWhatAReaderIsTold(t *testing.T) {
	b := browsertest.Start(t)
	p := b.Show(t, galleryPage(t, Phone, ""), browsertest.View{})
	told := p.Pictures(t)
	if len(told) != len(gallery(Phone)) {
		t.Fatalf("%d pictures are told of, want %d", len(told), len(gallery(Phone)))
	}
	if got := told[0]; got.Name != "margin of each lot" || !strings.Contains(got.Description,
		"14 Corvane Tern: likely £2,140, likely range £820 to £3,350.") {
		t.Errorf("told %+v", got)
	}
}
