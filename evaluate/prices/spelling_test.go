package prices

import "testing"

func TestAlikeOffersTheModelWhoseNameALotsNameExtends(t *testing.T) {
	m := &Model{names: collect([]Advert{
		{Make: "Pellow", Model: "Drover"}, {Make: "Pellow", Model: "drover"}, {Make: "Pellow", Model: "Drover Sport"},
		{Make: "Brantholt", Model: "Aldra"},
	})}
	for _, tt := range []struct{ maker, model, want string }{
		{"Pellow Drover 4WD", "",
			"adverts.csv has 2 of Pellow Drover and none of Pellow Drover 4WD; where they are one model, write it alike in both"},
		{"Pellow", "Drover Sport 2.0",
			"adverts.csv has 1 of Pellow Drover Sport and none of Pellow Drover Sport 2.0; where they are one model, " +
				"write it alike in both"},
		{"Pellow", "Drover", ""},
		{"Pellow Drover", "", ""}, // make and model in one column
		{"Pellow", "Droverine", ""},
		{"Pellow", "Cairn", ""},
		{"", "", ""},
	} {
		if got := m.Alike(tt.maker, tt.model); got != tt.want {
			t.Errorf("%s, %s: %q, want %q", tt.maker, tt.model, got, tt.want)
		}
	}
}
