package report

import (
	"io"

	"wreckoner/damage"
)

// Codes is the damage code, for a person who codes from photographs.
type Codes struct{}

// Document returns the zones, classes and grades, how to write them, and the
// cautions.
func (Codes) Document(int) *Document {
	d := &Document{}
	d.Say("Write a zone, then its marks: a class letter and a grade. Put ; between zones.\n" +
		"    nose s2 c3; front-near m2?; cabin r2?70; tail s1-\n" +
		"  c3      seen\n" +
		"  m2?     suspected, at your usual chance\n" +
		"  r2?70   suspected, at 70 in 100\n" +
		"  s1-     checked: not this bad\n" +
		"For each zone and class write the worst grade seen, then any worse one suspected: nose s2 s3?. " +
		"Undamaged: write none. Not looked at: leave it blank.")
	zones := tableOf(left("zone"), wraps("covers"))
	for _, z := range damage.Zones() {
		zones.Add(z.String(), z.Covers())
	}
	d.Show("Zones (near is the nearside, by the kerb; off the offside)", zones)
	for _, c := range damage.Classes() {
		t := tableOf(left("mark"), wraps("means"))
		for g := damage.Grade(1); g.Valid(); g++ {
			t.Add(damage.Item{Spot: damage.Spot{Class: c}, Grade: g}.Mark(), c.Describe(g))
		}
		d.Show(c.Letter()+"  "+c.String()+": "+c.Covers(), t)
		d.Say("Caution: " + c.Caution())
	}
	d.Say("A listing in words, coded: \"front end damage, bonnet and bumper to replace, slam panel bent, driver's and " +
		"passenger's bags gone, may have caught the radiator\" is\n" +
		"    nose s1 c3 m1?; cabin r2\n" +
		"Grade 4 means everything in the zone. Code what is hit, not the price you hope for.")
	d.Say(Caution)
	return d
}

// Records returns every class and grade as a flat row.
func (Codes) Records() *Records {
	r := &Records{Columns: columnsOf("class letter grade means caution")}
	for _, c := range damage.Classes() {
		for g := damage.Grade(1); g.Valid(); g++ {
			r.Rows = append(r.Rows, []any{c.String(), c.Letter(), int(g), c.Describe(g), c.Caution()})
		}
	}
	return r
}

// JSON writes zones and classes as one object.
func (Codes) JSON(w io.Writer) error {
	type zone struct {
		Zone   string `json:"zone"`
		Covers string `json:"covers"`
	}
	type class struct {
		Class   string   `json:"class"`
		Letter  string   `json:"letter"`
		Covers  string   `json:"covers"`
		Grades  []string `json:"grades"`
		Caution string   `json:"caution"`
	}
	var v struct {
		Zones   []zone  `json:"zones"`
		Classes []class `json:"classes"`
	}
	for _, z := range damage.Zones() {
		v.Zones = append(v.Zones, zone{z.String(), z.Covers()})
	}
	for _, c := range damage.Classes() {
		x := class{Class: c.String(), Letter: c.Letter(), Covers: c.Covers(), Caution: c.Caution()}
		for g := damage.Grade(1); g.Valid(); g++ {
			x.Grades = append(x.Grades, c.Describe(g))
		}
		v.Classes = append(v.Classes, x)
	}
	return encode(w, v)
}
