package draw

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawn is a picture read back as XML.
type drawn struct {
	width, height float64
	title, desc   string
	texts         []box
	words         []string
	elements      map[string]int
}

// read parses a picture, strictly.
func read(t rapid.TB, svg string) drawn {
	t.Helper()
	d := drawn{elements: map[string]int{}}
	dec := xml.NewDecoder(strings.NewReader(svg))
	dec.Strict = true
	attr := func(e xml.StartElement, name string) string {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				return a.Value
			}
		}
		return ""
	}
	num := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatalf("%q is no coordinate", text)
		}
		return v
	}
	var path []xml.StartElement
	var text strings.Builder
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not XML: %v\n%s", err, svg)
		}
		switch e := token.(type) {
		case xml.StartElement:
			d.elements[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "id" || a.Name.Local == "style" || a.Name.Local == "fill" || a.Name.Local == "stroke" ||
					strings.HasPrefix(a.Name.Local, "on") {
					t.Fatalf("%s has the attribute %s", e.Name.Local, a.Name.Local)
				}
			}
			if e.Name.Local == "svg" {
				size := strings.Fields(attr(e, "viewBox"))
				d.width, d.height = num(size[2]), num(size[3])
				if attr(e, "role") != "img" || attr(e, "width") != "100%" {
					t.Fatalf("the picture is %v", e.Attr)
				}
			}
			path = append(path, e)
			if e.Name.Local == "text" {
				text.Reset()
			}
		case xml.CharData:
			switch inside := path[len(path)-1]; {
			case inside.Name.Local == "text":
				text.Write(e)
			case inside.Name.Local == "title" && len(path) == 2:
				d.title += string(e)
			case inside.Name.Local == "desc":
				d.desc += string(e)
			}
		case xml.EndElement:
			if e.Name.Local == "text" {
				at := path[len(path)-1]
				how := start
				class := " " + attr(at, "class") + " "
				if strings.Contains(class, " mid ") {
					how = middle
				} else if strings.Contains(class, " end ") {
					how = end
				}
				d.texts = append(d.texts, textBox(num(attr(at, "x")), num(attr(at, "y")), how, text.String()))
				d.words = append(d.words, text.String())
			}
			path = path[:len(path)-1]
		}
	}
	return d
}

// sound checks what holds of every picture.
func sound(t rapid.TB, name string, d drawn) {
	t.Helper()
	if d.title == "" || d.desc == "" {
		t.Fatalf("%s: title %q, description %q", name, d.title, d.desc)
	}
	for e := range d.elements {
		switch e {
		case "svg", "title", "desc", "text", "path", "rect", "circle":
		default:
			t.Fatalf("%s: has an element %s", name, e)
		}
	}
	if d.elements["svg"] != 1 || d.elements["desc"] != 1 {
		t.Fatalf("%s: elements %v", name, d.elements)
	}
	const slack = 0.2 // coordinates are rounded to tenths
	for i, a := range d.texts {
		if a.x0 < -slack || a.x1 > d.width+slack || a.y0 < -slack || a.y1 > d.height+slack {
			t.Fatalf("%s: %q is at %v, outside %v by %v", name, d.words[i], a, d.width, d.height)
		}
		a.x0, a.y0, a.x1, a.y1 = a.x0+slack, a.y0+slack, a.x1-slack, a.y1-slack
		for j, b := range d.texts[i+1:] {
			if a.meets(b) {
				t.Fatalf("%s: %q and %q lie over each other", name, d.words[i], d.words[i+1+j])
			}
		}
	}
}

func TestPicturesAreSound(t *testing.T) {
	for _, size := range []Size{Phone, Desk} {
		for _, p := range gallery(size) {
			svg, err := p.SVG()
			if err != nil {
				t.Fatal(err)
			}
			sound(t, string(svg[:min(len(svg), 120)]), read(t, string(svg)))
			again, err := p.SVG()
			if err != nil || again != svg {
				t.Errorf("a second drawing differs: %v", err)
			}
		}
	}
}

func TestBothIsTheTwo(t *testing.T) {
	p := func(s Size) string {
		svg, err := Bars{Frame: Frame{Title: "t", Size: s}, Parts: []string{""}, Rows: []Bar{{"a", []float64{1}}}}.SVG()
		if err != nil {
			t.Fatal(err)
		}
		return string(svg)
	}
	if got, want := strings.ReplaceAll(p(Both), " only\"", "\""), p(Phone)+p(Desk); got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

// Any text and any numbers give a sound picture.
func TestAnyPictureIsSound(t *testing.T) {
	label := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{attack, long, "", "\x00\x1b[31m", "\u202egnirts",
		"a\u0301\u0302b", "漢字の札", "🛠🛠🛠", "\xff\xfe"}))
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]Format{{}, Money("GBP"), Money("NOK"), Percent(), Plain("days")}).Draw(t, "format")
		frame := Frame{Title: "t" + label.Draw(t, "title"), Note: label.Draw(t, "note"),
			Size: rapid.SampledFrom([]Size{Phone, Desk}).Draw(t, "size")}
		interval := func() Interval {
			a, b := number(t, "low"), number(t, "high")
			row := Interval{Label: label.Draw(t, "label"), Low: min(a, b), High: max(a, b), Mid: number(t, "mid"),
				Value: label.Draw(t, "value")}
			if rapid.Bool().Draw(t, "aimed") {
				v := number(t, "target")
				row.Target = &v
			}
			return row
		}
		n := rapid.IntRange(1, 5).Draw(t, "n")
		var p picture
		switch kind := rapid.IntRange(0, 7).Draw(t, "kind"); kind {
		case 0, 1:
			v := Intervals{Frame: frame, Format: f, Axis: label.Draw(t, "axis"), Band: label.Draw(t, "band"),
				Middle: label.Draw(t, "middle"), Aim: label.Draw(t, "aim"), Zero: rapid.Bool().Draw(t, "zero"), Joined: kind == 1}
			for range n {
				v.Rows = append(v.Rows, interval())
			}
			for range rapid.IntRange(0, 3).Draw(t, "guides") {
				v.Guides = append(v.Guides, Guide{label.Draw(t, "guide"), number(t, "at")})
			}
			p = v
		case 2:
			v := Curve{Frame: frame, X: Axis{Label: label.Draw(t, "x"), Format: f, Zero: true},
				Y: Axis{Label: label.Draw(t, "y"), Format: f, Zero: true}}
			for range rapid.IntRange(1, maxLines).Draw(t, "lines") {
				l := Line{Name: label.Draw(t, "name")}
				for range n + 1 {
					l.Points = append(l.Points, Point{number(t, "x"), number(t, "y")})
				}
				v.Lines = append(v.Lines, l)
			}
			for range rapid.IntRange(0, maxMarks).Draw(t, "marks") {
				v.Marks = append(v.Marks, Mark{label.Draw(t, "mark"), number(t, "x"), number(t, "y"), rapid.Bool().Draw(t, "drop")})
			}
			p = v
		case 3:
			v := Tornado{Frame: frame, Format: f, Base: number(t, "base"), BaseLabel: label.Draw(t, "base label"),
				Axis: label.Draw(t, "axis"), AtLow: label.Draw(t, "at low"), AtHigh: label.Draw(t, "at high")}
			for range n {
				v.Swings = append(v.Swings, Swing{label.Draw(t, "label"), number(t, "low"), number(t, "high")})
			}
			p = v
		case 4:
			v := Waterfall{Frame: frame, Format: f, Axis: label.Draw(t, "axis"), Plus: label.Draw(t, "plus"),
				Minus: label.Draw(t, "minus")}
			for range n {
				v.Steps = append(v.Steps, Step{label.Draw(t, "label"), number(t, "amount"), rapid.Bool().Draw(t, "total")})
			}
			p = v
		case 5:
			v := Dots{Frame: frame, Axis: label.Draw(t, "axis"), Left: label.Draw(t, "left"), Right: label.Draw(t, "right")}
			for range n * 20 {
				v.Dots = append(v.Dots, Dot{"dot", rapid.Float64Range(0, 100).Draw(t, "at")})
			}
			p = v
		case 6:
			v := Bars{Frame: frame, Format: f, Axis: label.Draw(t, "axis")}
			for range rapid.IntRange(1, maxParts).Draw(t, "parts") {
				v.Parts = append(v.Parts, label.Draw(t, "part"))
			}
			for range n {
				b := Bar{Label: label.Draw(t, "label")}
				for range v.Parts {
					b.Parts = append(b.Parts, math.Abs(number(t, "part")))
				}
				v.Rows = append(v.Rows, b)
			}
			p = v
		case 7:
			row := interval()
			row.Label = "r" + row.Label
			s, err := Fit(4, 0, number(t, "scale"))
			if err != nil {
				t.Fatal(err)
			}
			p = Cell{Row: row, Scale: s, Format: f, Zero: true}
		}
		svg, err := p.SVG()
		if err != nil {
			t.Fatal(err)
		}
		sound(t, frame.Title, read(t, string(svg)))
	})
}

// The words that stand for a picture carry its numbers.
func TestDescriptions(t *testing.T) {
	want := []string{
		"7 Ostrell Pike estate: likely £1,480, likely range −£640 to £2,900.",
		"cash in hand: NOK\u00a01,000.",
		"31 Maddox Vane: likely £310",
		"likely £1,480, likely range −£640 to £2,900",
		"From −£5,000 to £5,000.",
		"P80: £4,460 gives 80%.",
		"break-even: £4,601 gives £1.",
		"one in four: £4,006 gives 25%.",
		"Nose, structural: £1,980 at the input’s low, −£1,130 at its high.",
		"hammer: −£2,600. fees and their VAT: −£534. outlay is paid: £5,696.",
		"8 of 12 within the likely range. B-12: 0. B-01: 3.",
		"of 260 within the likely range.",
		"stated 80%: observed 75%, 95 in 100 47% to 91%, 9 of 12, stated 80%.",
		"front-near: £700, cosmetic £290, mechanical £410.",
		"nose: 12\u00a0hours.",
		"expected at the sale: £3,900. spent: £3,100. 2031-03-02: likely £3,700, likely range £2,400 to £5,900.",
		"14 Corvane Tern: waiting until 29 Nov, in work until 13 Dec, for sale until 3 Jan, sold, likely range 21 Dec to " +
			"1 Feb.",
	}
	pictures := gallery(Phone)
	if len(pictures) != len(want) {
		t.Fatalf("%d pictures, %d descriptions", len(pictures), len(want))
	}
	for i, p := range pictures {
		svg, err := p.SVG()
		if err != nil {
			t.Fatal(err)
		}
		if d := read(t, string(svg)); !strings.Contains(d.desc, want[i]) {
			t.Errorf("%T: %q does not say %q", p, d.desc, want[i])
		}
	}
}

// The attack stands in the pictures as the words that it is.
func TestHostileLabelsAreWords(t *testing.T) {
	for _, p := range gallery(Desk) {
		svg, err := p.SVG()
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(svg), "<script") || strings.Contains(string(svg), "<img") || strings.Count(string(svg),
			"</svg>") != 1 {
			t.Errorf("%T: a label became markup", p)
		}
	}
}

func TestALongLabelKeepsItsWhole(t *testing.T) {
	svg, err := Bars{Frame: Frame{Title: "t"}, Parts: []string{""}, Rows: []Bar{{long, []float64{1}}}}.SVG()
	if err != nil {
		t.Fatal(err)
	}
	if d := read(t, string(svg)); d.elements["title"] != 2 || !strings.Contains(string(svg),
		"<title>"+long+"</title>front offside") || !strings.Contains(string(svg), "…</text>") {
		t.Errorf("%s", svg)
	}
}

func TestWhatCannotBeDrawn(t *testing.T) {
	f := Frame{Title: "t"}
	nan := math.NaN()
	points := []Point{{0, 0}, {1, 1}}
	for want, p := range map[string]picture{
		"without a title":        Bars{Parts: []string{""}, Rows: []Bar{{"a", []float64{1}}}},
		"no rows":                Intervals{Frame: f},
		"low 2 is above":         Intervals{Frame: f, Rows: []Interval{{Low: 2, High: 1}}},
		"row x: NaN":             Intervals{Frame: f, Rows: []Interval{{Label: "x", Mid: nan}}},
		"5 guides":               Intervals{Frame: f, Rows: []Interval{{}}, Guides: make([]Guide, 5)},
		"make one with Fit":      Cell{Row: Interval{Label: "x"}},
		"fewer than two points":  Curve{Frame: f, Lines: []Line{{Points: points[:1]}}},
		"5 lines":                Curve{Frame: f, Lines: make([]Line, 5)},
		"no points":              Curve{Frame: f},
		"+Inf cannot be drawn":   Curve{Frame: f, Lines: []Line{{Points: []Point{{0, math.Inf(1)}, {1, 1}}}}},
		"an axis: NaN":           Curve{Frame: f, X: Axis{Include: []float64{nan}}, Lines: []Line{{Points: points}}},
		"no swings":              Tornado{Frame: f},
		"tornado: NaN":           Tornado{Frame: f, Base: nan, Swings: []Swing{{}}},
		"no steps":               Waterfall{Frame: f},
		"waterfall: NaN":         Waterfall{Frame: f, Steps: []Step{{Amount: nan}}},
		"no dots":                Dots{Frame: f},
		"not a percentile":       Dots{Frame: f, Dots: []Dot{{"x", 101}}},
		"0 parts":                Bars{Frame: f, Rows: []Bar{{}}},
		"has 1 parts, not 2":     Bars{Frame: f, Parts: []string{"a", "b"}, Rows: []Bar{{"x", []float64{1}}}},
		"parts cannot be negati": Bars{Frame: f, Parts: []string{"a"}, Rows: []Bar{{"x", []float64{-1}}}},
	} {
		if svg, err := p.SVG(); err == nil || !strings.Contains(err.Error(), want) || svg != "" {
			t.Errorf("%T: %q, %v; want an error with %q", p, svg, err, want)
		}
	}
}

// A total is the sum of the steps before it.
func TestWaterfallAddsUp(t *testing.T) {
	svg, err := Waterfall{Frame: Frame{Title: "t"}, Steps: []Step{{Label: "a", Amount: 10}, {Label: "b", Amount: -4},
		{Label: "c", Total: true, Amount: 99}, {Label: "d", Amount: 1}, {Label: "e", Total: true}}}.SVG()
	if err != nil {
		t.Fatal(err)
	}
	if d := read(t, string(svg)); d.desc != "a: 10. b: −4. c: 6. d: +1. e: 7." {
		t.Errorf("%q", d.desc)
	}
}

// Swings are drawn from the widest to the narrowest.
func TestTornadoOrder(t *testing.T) {
	svg, err := Tornado{Frame: Frame{Title: "t"}, Base: 5, Swings: []Swing{{"narrow", 4, 6}, {"wide", 9, 1},
		{"middling", 3, 8}}}.SVG()
	if err != nil {
		t.Fatal(err)
	}
	if !regexp.MustCompile(`>wide<.*>middling<.*>narrow<`).MatchString(string(svg)) {
		t.Errorf("%s", svg)
	}
}

// No two dots touch.
func TestDotsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(0, 300), 1, 80).Draw(t, "xs")
		for i := range xs { // ascending, as the caller gives them
			for j := i; j > 0 && xs[j] < xs[j-1]; j-- {
				xs[j], xs[j-1] = xs[j-1], xs[j]
			}
		}
		levels, high := stack(xs, 7)
		for i := range xs {
			if levels[i] >= high {
				t.Fatalf("level %d of %d", levels[i], high)
			}
			for j := range i {
				if levels[i] == levels[j] && xs[i]-xs[j] < 7 {
					t.Fatalf("%v and %v share level %d", xs[j], xs[i], levels[i])
				}
			}
		}
	})
}

// Thinning leaves the ends, and no point that it drops is farther off than the
// slack.
func TestThin(t *testing.T) {
	var path []point
	for i := range 500 {
		x := float64(i) * 0.6
		path = append(path, point{x, 100 / (1 + math.Exp(-(x-150)/20))})
	}
	kept := thin(path, 0.25)
	if len(kept) > 40 || kept[0] != path[0] || kept[len(kept)-1] != path[len(path)-1] {
		t.Fatalf("%d points, %v to %v", len(kept), kept[0], kept[len(kept)-1])
	}
	for _, p := range path {
		near := math.Inf(1)
		for i, b := range kept[1:] {
			near = min(near, distance(p, kept[i], b))
		}
		if near > 0.25+1e-9 {
			t.Fatalf("%v is %v off", p, near)
		}
	}
}
