package listing

import (
	"strings"
	"testing"

	"wreckoner/damage"
)

// Trade facts: common practice, no source.
func TestPart(t *testing.T) {
	const unsure = "?"
	for _, tt := range []struct{ text, want, doubt string }{
		{"front bumper", "nose c", ""},
		{"Rear bumper", "tail c", ""},
		{"osf wing", "front-off c", ""},
		{"O/S/F wing", "front-off c", ""},
		{"o/s/r quarter", "rear-off c", ""},
		{"n/s/r 1/4 panel", "rear-near c", ""},
		{"dash", "cabin c", ""},
		{"n/s sill", "side-near s", ""},
		{"paint n/s sill", "side-near c", ""},
		{"osr door", "side-off c", ""},
		{"nsf headlamp", "nose c", ""},
		{"radiator", "nose m", ""},
		{"bonnet and grille", "nose c", ""},
		{"replace o/s/f lower arm", "front-off m", ""},
		{"drivers airbag", "cabin r", ""},
		{"rear subframe", "under m", ""},
		{"w/screen", "cabin c", ""},
		{"slam panel", "nose s", ""},
		{"tailgate loom", "tail e", ""},
		{"engine", "bay m", ""},
		{"n/s/f", "front-near c" + unsure, "kind of damage is not said"},
		{"bumper", "nose c" + unsure, "which zone is not said"},
		{"wing", "front-near c" + unsure, "which zone is not said"},
		{"n/s door and wing", "side-near c" + unsure, "which zone is not said"},
		{"nsf wheel and wing", "front-near m" + unsure, "kind of damage is not said"},
		{"bonnte", "nose c" + unsure, `"bonnte" was read as bonnet`},
		{"front bumper zib", "nose c" + unsure, "not understood: zib"},
		{"no damage to the bonnet", "nose c" + unsure, "denied"},
		{"ferry", "", ""},
		{"", "", ""},
	} {
		p, ok := Starter().Part(tt.text)
		got := ""
		if ok {
			got = p.Zone.String() + " " + p.Class.Letter()
			if !p.Sure() {
				got += unsure
			}
		}
		if got != tt.want || !strings.Contains(p.Doubt, tt.doubt) {
			t.Errorf("%q is %q (%s), want %q (%s)", tt.text, got, p.Doubt, tt.want, tt.doubt)
		}
	}
}

func TestZone(t *testing.T) {
	for text, want := range map[string]damage.Zone{
		"n/s/f": damage.FrontNear, "NSF": damage.FrontNear, "near side front": damage.FrontNear, "lhf": damage.FrontNear,
		"o.s.f": damage.FrontOff, "driver side front": damage.FrontOff, "n/s": damage.SideNear, "offside": damage.SideOff,
		"NSR": damage.RearNear, "o/s/r": damage.RearOff, "right rear": damage.RearOff, "back": damage.Tail,
		"front bumper": damage.Nose, "dash": damage.Cabin, "under bonnet": damage.Bay,
	} {
		if z, ok := Starter().Zone(text); !ok || z != want {
			t.Errorf("%q is %s, %v, want %s", text, z, ok, want)
		}
	}
	for _, z := range damage.Zones() {
		if got, ok := Starter().Zone(ShortForm(z)); !ok || got != z {
			t.Errorf("%s for %s reads as %s, %v", ShortForm(z), z, got, ok)
		}
		if got, ok := Starter().Zone(strings.ToUpper(ShortForm(z))); !ok || got != z {
			t.Errorf("%s in capitals reads as %s, %v", ShortForm(z), got, ok)
		}
	}
	for _, text := range []string{"", "wing", "front and rear", "all four corners", "side", "quibble"} {
		if z, ok := Starter().Zone(text); ok {
			t.Errorf("%q is %s, want none", text, z)
		}
	}
}
