package report

import (
	"fmt"
	"math"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/tabular"
)

// Document returns the plan for a person, laid out for a width.
func (p *Plan) Document(_ int) *Document {
	d := &Document{}
	for i, text := range p.Expect() {
		if i == 0 {
			d.Blocks = append(d.Blocks, Block{Heading: p.Title(), Text: text})
			continue
		}
		d.Blocks[0].Text += "\n" + text
	}
	if won := p.Won(); len(won) > 0 {
		d.Blocks = append(d.Blocks, wonBlock(won))
	}
	if p.Result.Facts.NoBid.Reason == plan.SomethingToBid {
		d.Show("", p.sheet())
		if groups := p.Groups(); len(groups) > 0 {
			d.Say(strings.Join(groups, "\n"))
		}
		if asides := p.Asides(); len(asides) > 0 {
			d.Say(strings.Join(asides, "\n"))
		}
		if !p.Quiet {
			d.Say(p.legend())
		}
	}
	if n := rows(p.Rejected); n > 0 {
		d.Say(fmt.Sprintf("%s could not be read and %s not planned: see the messages.", tabular.Count(n, "row"), wasWere(n)))
	}
	d.Say(Caution)
	return d
}

func (p *Plan) legend() string {
	text := SheetWords + " Needs: what the lot ties up at its stop: price, fees, and what to hold back for parts " +
		"and bought-in work. " +
		"Win: the chance to get it at the stop, if it comes to that lot as things are."
	if p.Result.Cash == plan.NoLimit {
		text = "Needs: what the lot ties up at its stop. " +
			"Win: the chance to get it at the stop, if it comes to that lot as things are."
	}
	return text + fmt.Sprintf(
		" Shop: %s. %s simulated sales, seed %d.",
		ShopWords(p.Shop, p.Folder),
		money.Group(int64(p.draws())),
		p.Seed,
	)
}

func (p *Plan) draws() int {
	if p.Settings.Draws == 0 {
		return 4096
	}
	return p.Settings.Draws
}

// wonBlock says what to do now about the lots that were won.
func wonBlock(won []Bought) Block {
	lines := []string{"Won so far, and what to do now, then keep the estimates:"}
	var commands []string
	for _, b := range won {
		lines = append(lines, fmt.Sprintf("  %s %s at %s: %s.", b.Name, b.Car, b.Hammer, strings.Join(b.Todo, "; ")))
		if b.Freeze != "" {
			commands = append(commands, b.Freeze)
		}
	}
	return Block{Text: strings.Join(lines, "\n"), Commands: commands}
}

// columns are the levels of the sheet that are shown, the most money first. The top level is
// left out where it is what there is now.
func (p *Plan) columns() []int {
	levels := p.Result.Sheet6.Levels
	var out []int
	for a := len(levels) - 1; a >= 0; a-- {
		if p.Result.Cash == plan.NoLimit || math.Abs(levels[a]-p.Result.Cash) < 1e-6 {
			continue
		}
		out = append(out, a)
	}
	return out
}

// sheet is the table of lots with their stops by money left.
func (p *Plan) sheet() *Table {
	levels := p.columns()
	t := &Table{
		Columns: []Column{left("lot\ncloses"), gives("car\nown limit, win"), right("stop at\nneeds")},
		From:    3,
	}
	for _, a := range levels {
		t.Columns = append(t.Columns, right("\n"+money.Group(int64(math.Round(p.Result.Sheet6.Levels[a]/100))*100)))
	}
	if t.Above = "by money left (take the nearest)"; len(levels) == 0 {
		t.Above, t.Columns = "", append(t.Columns, wraps("why"))
	}
	marks := p.brackets()
	for _, i := range p.Shown() {
		l := &p.Result.Lots[i]
		row := []string{
			marks[i] + p.Name(
				l.Lot,
			) + "\n" + indentOf(
				marks[i],
			) + p.Closes(
				l.Lot,
			),
			p.Car(l.Lot) + "\n" + p.Sum(p.Limit(l.Lot)) + ", " + Win(l),
			p.Stop(l.Stop) + "\n" + p.needs(l),
		}
		for _, a := range levels {
			row = append(row, short(p.Result.Sheet6.Stops[i][a]))
		}
		if len(levels) == 0 {
			row = append(row, p.Why(l))
		} else {
			t.Under = append(t.Under, p.Why(l))
		}
		t.Add(row...)
	}
	return t
}

func (p *Plan) needs(l *plan.LotPlan) string {
	if l.Stop <= 0 {
		return ""
	}
	return p.Sum(l.Needs)
}

// short writes a stop of the sheet without the currency's sign.
func short(x float64) string {
	if x <= 0 {
		return "-"
	}
	return Whole(money.FromPounds(x))
}

// indentOf is what stands under a bracket.
func indentOf(mark string) string {
	switch mark {
	case "":
		return ""
	case "┌ ", "│ ":
		return "│ "
	}
	return "  "
}

// brackets joins the lots of a group that are shown.
func (p *Plan) brackets() map[int]string {
	shown := p.Shown()
	group := func(a int) int {
		if a < 0 || a >= len(shown) {
			return -1
		}
		return p.Result.Lots[shown[a]].Group
	}
	out := map[int]string{}
	for a, i := range shown {
		g := group(a)
		switch {
		case len(p.Result.Groups) == 0:
		case g < 0, group(a-1) != g && group(a+1) != g:
			out[i] = "  "
		case group(a-1) != g:
			out[i] = "┌ "
		case group(a+1) != g:
			out[i] = "└ "
		default:
			out[i] = "│ "
		}
	}
	return out
}
