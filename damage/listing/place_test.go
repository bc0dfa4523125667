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

// zoneOf reads words for a place as a zone; ok is false where they name none, or leave a choice.
func zoneOf(text string) (z damage.Zone, ok bool) {
	p, ok := Starter().Part(text)
	return p.Zone, ok && p.ZoneSure
}

// shortForms are what the trade writes for the zones; common practice, no source.
var shortForms = [damage.ZoneCount]string{
	damage.Nose: "front", damage.FrontNear: "n/s/f", damage.FrontOff: "o/s/f", damage.SideNear: "n/s",
	damage.SideOff: "o/s", damage.RearNear: "n/s/r", damage.RearOff: "o/s/r", damage.Tail: "rear", damage.Roof: "roof",
	damage.Under: "underside", damage.Bay: "engine bay", damage.Cabin: "interior", damage.Whole: "whole car",
}

func TestZone(t *testing.T) {
	for text, want := range map[string]damage.Zone{
		"n/s/f": damage.FrontNear, "NSF": damage.FrontNear, "near side front": damage.FrontNear, "lhf": damage.FrontNear,
		"o.s.f": damage.FrontOff, "driver side front": damage.FrontOff, "n/s": damage.SideNear, "offside": damage.SideOff,
		"NSR": damage.RearNear, "o/s/r": damage.RearOff, "right rear": damage.RearOff, "back": damage.Tail,
		"front bumper": damage.Nose, "dash": damage.Cabin, "under bonnet": damage.Bay,
	} {
		if z, ok := zoneOf(text); !ok || z != want {
			t.Errorf("%q is %s, %v, want %s", text, z, ok, want)
		}
	}
	for _, z := range damage.Zones() {
		if got, ok := zoneOf(shortForms[z]); !ok || got != z {
			t.Errorf("%s for %s reads as %s, %v", shortForms[z], z, got, ok)
		}
		if got, ok := zoneOf(strings.ToUpper(shortForms[z])); !ok || got != z {
			t.Errorf("%s in capitals reads as %s, %v", shortForms[z], got, ok)
		}
	}
	for _, text := range []string{"", "wing", "front and rear", "all four corners", "side", "quibble"} {
		if z, ok := zoneOf(text); ok {
			t.Errorf("%q is %s, want none", text, z)
		}
	}
}
