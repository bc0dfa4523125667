package draw

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance is the relative luminance of #rgb or #rrggbb: WCAG 2.2, definitions.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 4 {
		hex = string([]byte{'#', hex[1], hex[1], hex[2], hex[2], hex[3], hex[3]})
	}
	var sum float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// The extremes, and a grey: WCAG 2.2, understanding criterion 1.4.3, gives 21
// for black on white and 4.47 for #777777 on white (4.478, cut).
func TestContrastItself(t *testing.T) {
	if got := contrast(t, "#000", "#fff"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white: %v", got)
	}
	if got := contrast(t, "#777777", "#fff"); math.Abs(got-4.478) > 0.001 {
		t.Errorf("#777777 on white: %v", got)
	}
}

// Text stands out from paper by 4.5 to 1 (criterion 1.4.3), the outlines of
// shapes by 3 to 1 (criterion 1.4.11), in all three palettes.
func TestPaletteContrast(t *testing.T) {
	palettes := regexp.MustCompile(`:root\{(--draw-paper:#[^}]*)\}`).FindAllStringSubmatch(CSS, -1)
	if len(palettes) != 3 {
		t.Fatalf("%d palettes, want light, dark and print", len(palettes))
	}
	for _, p := range palettes {
		colours := map[string]string{}
		for _, entry := range strings.Split(p[1], ";") {
			name, value, _ := strings.Cut(strings.TrimPrefix(entry, "--draw-"), ":")
			colours[name] = value
		}
		for _, text := range []string{"ink", "quiet", "steel", "rust"} {
			if r := contrast(t, colours[text], colours["paper"]); r < 4.5 {
				t.Errorf("%s on paper: %.2f in %s", text, r, p[1])
			}
		}
		for _, pair := range [][2]string{{"ink", "tint"}, {"steel", "tint"}} {
			if r := contrast(t, colours[pair[0]], colours[pair[1]]); r < 3 {
				t.Errorf("%s on %s: %.2f in %s", pair[0], pair[1], r, p[1])
			}
		}
	}
}

// Every class that a picture uses is in the style sheet.
func TestEveryClassHasAStyle(t *testing.T) {
	classes := regexp.MustCompile(`class="([^"]*)"`)
	for _, p := range gallery(Both) {
		svg, err := p.SVG()
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range classes.FindAllStringSubmatch(string(svg), -1) {
			for _, class := range strings.Fields(m[1]) {
				if !regexp.MustCompile(`\.` + class + `[ ,.{]`).MatchString(CSS) {
					t.Errorf("%T: class %s has no style", p, class)
				}
			}
		}
	}
}
