package page_test

import (
	"fmt"
	"os"
	"testing"

	"wreckoner/evaluate/report/browsertest"
)

func TestShot(t *testing.T) {
	file, out := os.Getenv("SHOT_FILE"), os.Getenv("SHOT_OUT")
	if file == "" {
		t.Skip()
	}
	b := browsertest.Start(t)
	for name, v := range map[string]browsertest.View{"desk": {}, "phone": {Width: 390, Height: 844}, "dark": {Dark: true}, "pdark": {Width: 390, Height: 844, Dark: true}} {
		p := b.Open(t, file, v)
		if e := os.Getenv("SHOT_EVAL"); e != "" {
			fmt.Println(name, browsertest.Eval[string](t, p, e))
		}
		p.Screenshot(t, out+"-"+name+".png", os.Getenv("SHOT_SEL"))
		if os.Getenv("SHOT_QUICK") != "" {
			continue
		}
		for i, f := range p.Faults(t) {
			if i < 15 {
				fmt.Println(name, f)
			}
		}
	}
	p := b.Open(t, file, browsertest.View{})
	if e := os.Getenv("SHOT_EVAL"); e != "" {
		browsertest.Eval[string](t, p, e)
	}
	pdf := p.PDF(t)
	os.WriteFile(out+".pdf", pdf, 0o644)
	fmt.Println(browsertest.Pages(pdf))
}
