package shop

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// The files of a shop folder.
const (
	SettingsFile = "shop.toml"
	CostsFile    = "costs.csv"
	HiddenFile   = "hidden.csv"
	SegmentsFile = "segments.csv"
	// AgesFile says what the age of a car multiplies the cost table by. Without it every
	// age is the same.
	AgesFile        = "ages.csv"
	CategoriesFile  = "categories.csv"
	FeesFile        = "fees.csv"
	InspectionsFile = "inspections.csv"
	// LearnedFile of a shop folder names the builds that its figures were learned
	// from, so that none is counted twice.
	LearnedFile = "learned.csv"
	// ColumnsFile is the file of a shop folder that keeps what lists call their
	// columns. There is no starter.
	ColumnsFile = "columns.csv"
	// LexiconFile is the file of a shop folder that says what a listing's words mean.
	LexiconFile = "lexicon.csv"
	// AdvertsFile, ResultsFile and BuildsFile are evidence: adverts and own sales, past
	// hammer prices, and won cars. There is no starter.
	AdvertsFile, ResultsFile, BuildsFile = prices.AdvertsFile, prices.ResultsFile, prices.BuildsFile
)

// Read reads a shop folder; "" is the built-in starter, which also serves
// for files that the folder does not have. problems are the faults found, with
// which the shop cannot be used; notices say what was guessed.
func Read(folder string) (s *Shop, problems []tabular.Problem, notices []string, err error) {
	r := &shopReader{folder: folder, shop: &Shop{}}
	if folder != "" {
		info, err := os.Stat(folder)
		if err != nil {
			if errors.Is(err, fs.ErrNotExist) {
				return nil, nil, nil, fmt.Errorf("%s: there is no such workshop folder; wreckoner start %s writes one to edit",
					folder, folder)
			}
			return nil, nil, nil, err
		}
		if !info.IsDir() {
			return nil, nil, nil, fmt.Errorf("%s is a file; name the workshop folder", folder)
		}
		r.own = os.DirFS(folder)
		if err := r.names(); err != nil {
			return nil, nil, nil, err
		}
	}
	if err := r.read(); err != nil {
		return nil, nil, nil, err
	}
	return r.shop, r.problems, r.notices, nil
}

// folderFiles are all files that a shop folder may hold.
var folderFiles = []string{SettingsFile, CostsFile, HiddenFile, SegmentsFile, AgesFile, CategoriesFile, FeesFile,
	InspectionsFile,
	LexiconFile, ColumnsFile, LearnedFile, AdvertsFile, ResultsFile, BuildsFile}

// renamed has what files of a shop folder were called before.
var renamed = map[string]string{"book.csv": CostsFile, "looks.csv": InspectionsFile}

// names looks at the names in the folder. A file with an old name, or with a name
// that is nearly a shop file's, is a fault, since the starter's table would be used
// in its place; any other file that is not one of ours is named in a notice. A folder
// without any shop file is an error.
func (r *shopReader) names() error {
	files, err := fs.ReadDir(r.own, ".")
	if err != nil {
		return fmt.Errorf("%s: %w", r.folder, err)
	}
	found := false
	var others []string
	for _, f := range files {
		name := f.Name()
		if slices.Contains(folderFiles, name) {
			found = true
			continue
		}
		if message := r.misnamed(name); message != "" {
			r.problems = append(r.problems, tabular.Problem{File: strings.TrimSuffix(r.folder, "/") + "/" + name,
				Message: message})
			found = true
			continue
		}
		if !strings.HasPrefix(name, ".") {
			others = append(others, name)
		}
	}
	if !found {
		return fmt.Errorf("%s has no files of a shop folder, such as %s or %s; wreckoner start DIR writes them", r.folder,
			SettingsFile, CostsFile)
	}
	if len(others) > 0 {
		r.notices = append(r.notices, fmt.Sprintf("%s: ignored, as they are not files of a shop folder: %s", r.folder,
			strings.Join(others, ", ")))
	}
	return nil
}

// misnamed says what to call a file that has an old name or nearly one of ours; it
// is "" for any other file.
func (r *shopReader) misnamed(name string) string {
	if now := renamed[strings.ToLower(name)]; now != "" {
		return fmt.Sprintf("is now called %s; rename the file", now)
	}
	near := tabular.Nearest(strings.TrimSuffix(name, filepath.Ext(name)), stems())
	for _, file := range folderFiles {
		if near != "" && strings.HasPrefix(file, near+".") && strings.EqualFold(filepath.Ext(name), filepath.Ext(file)) &&
			!exists(r.own, file) {
			return fmt.Sprintf("is not a workshop file, and would not be read; did you mean %s?", file)
		}
	}
	return ""
}

func stems() []string {
	out := make([]string, len(folderFiles))
	for i, name := range folderFiles {
		out[i] = strings.TrimSuffix(name, filepath.Ext(name))
	}
	return out
}

func exists(folder fs.FS, name string) bool {
	_, err := fs.Stat(folder, name)
	return err == nil
}

type shopReader struct {
	folder string
	own    fs.FS // nil: nothing but the starter
	// texts, where not nil, are all the files that there are; a table of them may be
	// empty.
	texts    map[string]string
	shop     *Shop
	problems []tabular.Problem
	notices  []string
}

// open returns a file of the folder, or the starter's, and its name in messages.
func (r *shopReader) open(name string) (f io.ReadCloser, shown string, builtIn bool, err error) {
	if r.texts != nil {
		text, ok := r.texts[name]
		if !ok {
			return nil, "", false, fmt.Errorf("%s/%s is missing", r.folder, name)
		}
		return io.NopCloser(strings.NewReader(text)), r.folder + "/" + name, false, nil
	}
	if r.own != nil {
		f, err = r.own.Open(name)
		if err == nil {
			return f, strings.TrimSuffix(r.folder, "/") + "/" + name, false, nil
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return nil, "", false, fmt.Errorf("%s/%s: %w", r.folder, name, err)
		}
	}
	f, err = costs.Starter().Open(name)
	return f, "starter " + name, true, err
}

func (r *shopReader) read() error {
	if err := r.settings(); err != nil {
		return err
	}
	if err := r.segments(); err != nil { // before what names a segment
		return err
	}
	if err := r.ages(); err != nil {
		return err
	}
	if err := r.categories(); err != nil {
		return err
	}
	if err := r.fees(); err != nil {
		return err
	}
	if err := r.inspections(); err != nil {
		return err
	}
	r.extras()
	return r.book()
}

// extras checks the values at which extras are charged, as far as the shop knows
// what the column can hold.
func (r *shopReader) extras() {
	var segments, categories []string
	for _, s := range r.shop.Segments {
		segments = append(segments, s.Name)
	}
	for _, c := range r.shop.Categories {
		categories = append(categories, c.Name)
	}
	known := map[string][]string{
		"segment": segments, "category": categories, "site": r.shop.Tariff.Sites(), "vat": {"margin", "plus"},
		"keys": {"yes", "no", "unknown"}, "starts": {"yes", "no", "unknown"},
	}
	for _, x := range r.shop.Extras {
		names, ok := known[x.Column]
		if ok && !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, x.Value) }) {
			r.problems = append(r.problems, tabular.Problem{File: r.shown(SettingsFile), Column: "value", Text: x.Value,
				Message: fmt.Sprintf("the extra %q is charged where %s is %q, which it never is; write one of %s", x.Name,
					x.Column, x.Value, strings.Join(slices.Compact(names), ", "))})
		}
	}
}

func (r *shopReader) settings() error {
	starter, err := starterSettings()
	if err != nil {
		return err
	}
	f, shown, builtIn, err := r.open(SettingsFile)
	if err != nil {
		return err
	}
	defer f.Close()
	text, err := tabular.ReadText(shown, f)
	if err != nil {
		return err
	}
	sr := settingsReader{file: shown}
	r.shop.Settings, r.shop.Fixed, r.shop.Extras = sr.read(text, starter)
	r.problems = append(r.problems, sr.problems...)
	r.notices = append(r.notices, sr.notices...)
	r.shop.Sources = append(r.shop.Sources, Source{File: SettingsFile, BuiltIn: builtIn})
	return nil
}

// starterSettings returns the starter's settings, to stand in for missing keys.
func starterSettings() (*Settings, error) {
	text, err := fs.ReadFile(costs.Starter(), SettingsFile)
	if err != nil {
		return nil, err
	}
	sr := settingsReader{file: SettingsFile}
	s, _, _ := sr.read(string(text), nil)
	if len(sr.problems) > 0 {
		return nil, sr.problems[0]
	}
	return &s, nil
}

// each reads the rows of one CSV file of the shop. read gets each row and a
// function that reports a fault in a column.
func each[T any](r *shopReader, name string, columns []tabular.Column, read func(v *T, line int,
	bad func(column string, err error) bool)) error {
	f, shown, builtIn, err := r.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	r.shop.Sources = append(r.shop.Sources, Source{File: name, BuiltIn: builtIn})
	t, err := tabular.Open(tabular.NewCSV(shown, f), tabular.Options{Columns: columns})
	var faults tabular.Problems
	if errors.As(err, &faults) {
		r.problems = append(r.problems, faults...)
		return nil
	}
	if err != nil {
		return err
	}
	rows := 0
	for row, err := range tabular.Read[T](t) {
		if err != nil {
			return err
		}
		rows++
		if row.Problem != nil {
			r.problems = append(r.problems, *row.Problem)
			continue
		}
		read(&row.Values, row.Line, func(column string, err error) bool {
			if err != nil {
				r.problems = append(r.problems, row.At(column, err))
			}
			return err != nil
		})
	}
	if rows == 0 && r.texts == nil {
		message := "has a header and no rows; remove the file to use the starter's"
		if name == AgesFile {
			message = "has a header and no rows; remove the file if age changes nothing"
		}
		r.problems = append(r.problems, tabular.Problem{File: shown, Line: 1, Message: message})
	}
	if extra := t.Extra(); len(extra) > 0 {
		r.notices = append(r.notices, fmt.Sprintf("%s: columns ignored: %s", shown, strings.Join(extra, ", ")))
	}
	r.notices = append(r.notices, t.Notices()...)
	return nil
}

// Three reads a three-point amount from three cells.
func Three(low, mid, high tabular.Cell, shape stats.Shape, names [3]string, bad func(string, error) bool) stats.Amount {
	var x [3]float64
	ok := true
	for i, c := range []tabular.Cell{low, mid, high} {
		var err error
		if x[i], err = c.Number(0, 1e9); bad(names[i], err) {
			ok = false
		}
	}
	if !ok {
		return stats.Amount{}
	}
	a, err := stats.New(x[0], x[1], x[2], shape)
	bad(names[1], err)
	return a
}

type segmentRow struct {
	Segment     tabular.Cell `csv:"segment"`
	Spend       tabular.Cell `csv:"spend"`
	Hours       tabular.Cell `csv:"hours"`
	ValueSpread tabular.Cell `csv:"valuespread"`
	S           tabular.Cell `csv:"s"`
	C           tabular.Cell `csv:"c"`
	R           tabular.Cell `csv:"r"`
	M           tabular.Cell `csv:"m"`
	E           tabular.Cell `csv:"e"`
	Sell        tabular.Cell `csv:"sell"`
	Called      tabular.Cell `csv:"called"`
	InName      tabular.Cell `csv:"inname"`
}

func (r *shopReader) segments() error {
	columns := tabular.ColumnsOf("segment", "spend", "hours", "value_spread", "?", "s", "c", "r", "m", "e", "sell",
		"called", "in_name")
	return each(r, SegmentsFile, columns, func(v *segmentRow, _ int, bad func(string, error) bool) {
		s := Segment{Name: v.Segment.Text()}
		if s.Name == "" {
			bad("segment", errors.New("is blank; every row needs its name"))
			return
		}
		if _, dup := r.shop.Segment(s.Name); dup {
			bad("segment", fmt.Errorf("%q has two rows; keep one", s.Name))
			return
		}
		var err error
		s.Spend, err = multiplier(v.Spend)
		failed := bad("spend", err)
		s.Hours, err = multiplier(v.Hours)
		failed = bad("hours", err) || failed
		for c, cell := range []tabular.Cell{v.S, v.C, v.R, v.M, v.E} { // in the order of classes
			if cell.Given() {
				s.Classes[c], err = multiplier(cell)
				failed = bad(damage.Class(c).Letter(), err) || failed
			}
		}
		if v.Sell.Given() {
			s.Sell, err = multiplier(v.Sell)
			failed = bad("sell", err) || failed
		}
		s.ValueSpread, err = v.ValueSpread.Number(0, 2)
		s.Called, s.InName = names(v.Called), names(v.InName)
		if v.Called.State == tabular.Absent {
			s.Called, s.InName = starterNames(s.Name)
		}
		if !bad("value_spread", err) && !failed {
			r.shop.Segments = append(r.shop.Segments, s)
		}
	})
}

type categoryRow struct {
	Category   tabular.Cell `csv:"category"`
	Rebuild    tabular.Cell `csv:"rebuild"`
	Segment    tabular.Cell `csv:"segment"`
	Low        tabular.Cell `csv:"low"`
	Mid        tabular.Cell `csv:"mid"`
	High       tabular.Cell `csv:"high"`
	Builds     tabular.Cell `csv:"builds"`
	Note       tabular.Cell `csv:"note"`
	GuideShare tabular.Cell `csv:"guideshare"`
	Sell       tabular.Cell `csv:"sell"`
}

func (r *shopReader) categories() error {
	columns := tabular.ColumnsOf("category", "rebuild", "low", "mid", "high", "builds", "?", "segment", "note",
		"guide_share", "sell")
	return each(r, CategoriesFile, columns, func(v *categoryRow, _ int, bad func(string, error) bool) {
		c := Category{Name: v.Category.Text(), Note: v.Note.Text()}
		if c.Name == "" {
			bad("category", errors.New("is blank; every row needs its name"))
			return
		}
		failed := false
		check := func(column string, err error) { failed = bad(column, err) || failed }
		var err error
		c.Rebuild, err = v.Rebuild.YesNo()
		check("rebuild", err)
		if c.Rebuild && (strings.EqualFold(c.Name, "A") || strings.EqualFold(c.Name, "B")) {
			r.notices = append(r.notices,
				fmt.Sprintf("%s: category %s is marked as one that may be rebuilt; where A and B are insurers' categories, "+
					"such a car may not go back on the road", r.shown(CategoriesFile), c.Name))
		}
		if c.Segment = anyAs(v.Segment.Text(), ""); c.Segment != "" {
			if _, ok := r.shop.Segment(c.Segment); !ok {
				check("segment", r.noSegment(c.Segment))
			}
		}
		for _, o := range r.shop.Categories {
			if strings.EqualFold(o.Name, c.Name) && strings.EqualFold(o.Segment, c.Segment) {
				check("category", fmt.Errorf("%q has two rows for the same car type; keep one", c.Name))
			}
		}
		var share [3]float64
		for i, x := range []struct {
			name string
			cell tabular.Cell
		}{{"low", v.Low}, {"mid", v.Mid}, {"high", v.High}} {
			share[i], err = x.cell.Fraction()
			check(x.name, err)
		}
		c.Builds, err = v.Builds.Number(0, 1e6)
		check("builds", err)
		if v.GuideShare.Given() {
			c.GuideShare, err = v.GuideShare.Fraction()
			check("guide_share", err)
		}
		c.Sell, err = sellTimes(v.Sell)
		check("sell", err)
		if !failed {
			c.Share, err = stats.New(share[0], share[1], share[2], stats.Skewed)
			check("mid", err)
		}
		if !failed {
			r.shop.Categories = append(r.shop.Categories, c)
		}
	})
}

// sellTimes reads what a row multiplies the days to sell by: a twentieth to twenty
// times; 0 where it is blank.
func sellTimes(c tabular.Cell) (float64, error) {
	if !c.Given() {
		return 0, nil
	}
	x, err := c.Number(0, 1e6)
	if err == nil && (x < 0.05 || x > 20) {
		err = fmt.Errorf("%v times the days to sell is out of range; write a number from 0.05 to 20, 1 to leave "+
			"sell_days as it is", x)
	}
	return x, err
}

// anyAs returns the text, or star where it is blank or *.
func anyAs(text, star string) string {
	if text == "" || text == "*" {
		return star
	}
	return text
}

func (r *shopReader) noSegment(name string) error {
	var names []string
	for _, s := range r.shop.Segments {
		names = append(names, s.Name)
	}
	return tabular.Unknown("car type", name, names)
}

type feeRow struct {
	Site     tabular.Cell `csv:"site"`
	Fee      tabular.Cell `csv:"fee"`
	From     tabular.Cell `csv:"from"`
	Amount   tabular.Cell `csv:"amount"`
	Percent  tabular.Cell `csv:"percent"`
	VAT      tabular.Cell `csv:"vat"`
	Per      tabular.Cell `csv:"per"`
	FreeDays tabular.Cell `csv:"freedays"`
}

func (r *shopReader) fees() error {
	var bands []Band
	columns := tabular.ColumnsOf("site", "fee", "?", "from", "amount", "percent", "vat", "per", "free_days")
	err := each(r, FeesFile, columns, func(v *feeRow, _ int, bad func(string, error) bool) {
		b := Band{Site: v.Site.Text(), Fee: strings.ToLower(v.Fee.Text())}
		failed := false
		check := func(column string, err error) { failed = bad(column, err) || failed }
		for column, text := range map[string]string{"site": b.Site, "fee": b.Fee} {
			if text == "" {
				check(column, errors.New("is blank; write a name, or * for every site"))
			}
		}
		pence := func(column string, c tabular.Cell) money.Pence {
			if !c.Given() {
				return 0
			}
			p, err := money.Parse(c.Text())
			if err == nil && p < 0 {
				err = fmt.Errorf("%q is negative; a fee starts at 0", c.Text())
			}
			check(column, err)
			return p
		}
		b.From, b.Amount = pence("from", v.From), pence("amount", v.Amount)
		var err error
		if v.Percent.Given() {
			b.Percent, err = money.ParseRate(v.Percent.Text())
			check("percent", err)
		}
		if v.VAT.Given() {
			b.VAT, err = v.VAT.YesNo()
			check("vat", err)
		}
		b.Per, err = ParsePer(strings.ToLower(v.Per.Text()))
		check("per", err)
		if v.FreeDays.Given() {
			b.FreeDays, err = v.FreeDays.Number(0, 3650)
			check("free_days", err)
		}
		if !failed {
			bands = append(bands, b)
		}
	})
	if err != nil {
		return err
	}
	tariff, err := NewTariff(bands, r.shop.VATRate)
	if err != nil {
		r.problems = append(r.problems, tabular.Problem{File: r.shown(FeesFile), Message: err.Error()})
		tariff, err = NewTariff(nil, r.shop.VATRate)
	}
	r.shop.Tariff = tariff
	return err
}

// shown is a file's name in messages.
func (r *shopReader) shown(name string) string {
	f, shown, _, err := r.open(name)
	if err != nil {
		return name
	}
	f.Close()
	return shown
}

type bookRow struct {
	Zone      tabular.Cell `csv:"zone"`
	Class     tabular.Cell `csv:"class"`
	Grade     tabular.Cell `csv:"grade"`
	SpendLow  tabular.Cell `csv:"spendlow"`
	SpendMid  tabular.Cell `csv:"spendmid"`
	SpendHigh tabular.Cell `csv:"spendhigh"`
	HoursLow  tabular.Cell `csv:"hourslow"`
	HoursMid  tabular.Cell `csv:"hoursmid"`
	HoursHigh tabular.Cell `csv:"hourshigh"`
	LeadDays  tabular.Cell `csv:"leaddays"`
	Parts     tabular.Cell `csv:"parts"`
	Builds    tabular.Cell `csv:"builds"`
	Basis     tabular.Cell `csv:"basis"`
	Shape     tabular.Cell `csv:"shape"`
	Priced    tabular.Cell `csv:"priced"`
}

func (r *shopReader) book() error {
	rows, err := r.rows()
	if err != nil {
		return err
	}
	rules, err := r.rules()
	if err != nil {
		return err
	}
	b, err := costs.New(rows, rules)
	if err != nil {
		r.problems = append(r.problems, tabular.Problem{File: r.shown(CostsFile), Message: err.Error()})
		return nil
	}
	r.shop.Costs = b
	r.gaps()
	return nil
}

// gaps says what no row of the book prices.
func (r *shopReader) gaps() {
	var missing []string
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			for g := damage.Grade(1); g.Valid(); g++ {
				item := damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}
				if _, ok := r.shop.Costs.RowOf(item); !ok {
					missing = append(missing, item.String())
				}
			}
		}
	}
	if len(missing) > 0 {
		r.notices = append(r.notices,
			fmt.Sprintf("%s: no row for %d of %d kinds of damage, such as %s; lots that may have it are rejected: add rows "+
				"with zone * to cover the rest",
				r.shown(CostsFile), len(missing), damage.ItemCount, missing[0]))
	}
}

func (r *shopReader) rows() ([]costs.Row, error) {
	var rows []costs.Row
	lines := map[string]int{}
	columns := tabular.ColumnsOf("zone", "class", "grade", "spend_low", "spend_mid", "spend_high", "hours_low",
		"hours_mid", "hours_high", "lead_days", "builds", "basis", "?", "shape", "parts", "priced")
	shown := r.shown(CostsFile)
	err := each(r, CostsFile, columns, func(v *bookRow, line int, bad func(string, error) bool) {
		row := costs.Row{Basis: v.Basis.Text()}
		failed := false
		check := func(column string, err error) bool { failed = bad(column, err) || failed; return err != nil }
		row.Item, row.Any = item(v.Zone, v.Class, v.Grade, [3]string{"zone", "class", "grade"}, "*", check)
		shape, err := stats.ParseShape(strings.ToLower(v.Shape.Text()))
		check("shape", err)
		row.Spend = Three(v.SpendLow, v.SpendMid, v.SpendHigh, shape, [3]string{"spend_low", "spend_mid", "spend_high"},
			check)
		row.Hours = Three(v.HoursLow, v.HoursMid, v.HoursHigh, shape, [3]string{"hours_low", "hours_mid", "hours_high"},
			check)
		row.LeadDays, err = v.LeadDays.Number(0, 3650)
		check("lead_days", err)
		if v.Parts.Given() {
			parts, err := v.Parts.Fraction()
			check("parts", err)
			row.Common = 1 - parts
		}
		if row.Builds, err = v.Builds.Number(0, 1e6); !check("builds", err) && row.Builds == 0 {
			check("builds", errors.New("0 builds carry no weight; write how many builds the row is worth, such as 4"))
		}
		if row.Basis == "" {
			check("basis", errors.New("is blank; say in words where the figures come from"))
		}
		if v.Priced.Given() {
			row.Priced, err = v.Priced.Date()
			check("priced", err)
		}
		if failed {
			return
		}
		if first, dup := lines[row.Name()]; dup {
			check("zone", fmt.Errorf("%s already has a row, on line %d; keep one", row.Name(), first))
			return
		}
		lines[row.Name()] = line
		for _, a := range []struct {
			what string
			stats.Amount
		}{{"spend", row.Spend}, {"hours", row.Hours}} {
			if ratio := a.TailRatio(); ratio > stats.WarnRatio {
				r.notices = append(r.notices,
					fmt.Sprintf("%s:%d: %s of %s: one side is %.1f times the other, more than most people mean; check low, mid "+
						"and high", shown, line, a.what, row.Name(), ratio))
			}
		}
		rows = append(rows, row)
	})
	return rows, err
}

// item reads zone, class and grade from three cells. star is the word for any
// zone.
func item(zone, class, grade tabular.Cell, names [3]string, star string,
	check func(string, error) bool) (i damage.Item, any bool) {
	var err error
	if strings.EqualFold(zone.Text(), star) {
		any = true
	} else if i.Zone, err = damage.ParseZone(zone.Text()); err != nil {
		check(names[0], fmt.Errorf("%w, or %s", err, star))
	}
	i.Class, err = damage.ParseClass(class.Text())
	check(names[1], err)
	n, err := grade.Int(1, damage.GradeCount)
	check(names[2], err)
	i.Grade = damage.Grade(n)
	return i, any
}

type ruleRow struct {
	WhenZone  tabular.Cell `csv:"whenzone"`
	WhenClass tabular.Cell `csv:"whenclass"`
	WhenGrade tabular.Cell `csv:"whengrade"`
	ThenZone  tabular.Cell `csv:"thenzone"`
	ThenClass tabular.Cell `csv:"thenclass"`
	ThenGrade tabular.Cell `csv:"thengrade"`
	Segment   tabular.Cell `csv:"segment"`
	Chance    tabular.Cell `csv:"chance"`
	Seen      tabular.Cell `csv:"seen"`
	Why       tabular.Cell `csv:"why"`
}

func (r *shopReader) rules() ([]costs.Rule, error) {
	var rules []costs.Rule
	lines := map[string]int{}
	columns := tabular.ColumnsOf("when_zone", "when_class", "when_grade", "then_zone", "then_class", "then_grade",
		"chance", "seen", "?", "segment", "why")
	err := each(r, HiddenFile, columns, func(v *ruleRow, line int, bad func(string, error) bool) {
		rule := costs.Rule{Why: v.Why.Text(), Segment: anyAs(v.Segment.Text(), "")}
		failed := false
		check := func(column string, err error) bool { failed = bad(column, err) || failed; return err != nil }
		rule.When, rule.AnyZone = item(v.WhenZone, v.WhenClass, v.WhenGrade, [3]string{"when_zone", "when_class",
			"when_grade"}, "*", check)
		rule.Then, rule.Same = item(v.ThenZone, v.ThenClass, v.ThenGrade, [3]string{"then_zone", "then_class", "then_grade"},
			"same", check)
		if rule.Segment != "" {
			if _, ok := r.shop.Segment(rule.Segment); !ok {
				check("segment", r.noSegment(rule.Segment))
			}
		}
		var err error
		if rule.Chance, err = v.Chance.Fraction(); !check("chance", err) && rule.Chance == 0 {
			check("chance", errors.New("a chance of 0 adds nothing; remove the row"))
		}
		rule.Seen, err = v.Seen.Number(0, 1e6)
		check("seen", err)
		if failed {
			return
		}
		if first, dup := lines[rule.Name()]; dup {
			check("when_zone", fmt.Errorf("%s is already on line %d; keep one", rule.Name(), first))
			return
		}
		lines[rule.Name()] = line
		rules = append(rules, rule)
	})
	return rules, err
}

type inspectionRow struct {
	Inspection tabular.Cell `csv:"look"`
	Price      tabular.Cell `csv:"price"`
	Finds      tabular.Cell `csv:"finds"`
	Zones      tabular.Cell `csv:"zones"`
	Classes    tabular.Cell `csv:"classes"`
	Note       tabular.Cell `csv:"note"`
	Visit      tabular.Cell `csv:"visit"`
}

func (r *shopReader) inspections() error {
	return each(r, InspectionsFile, tabular.ColumnsOf("look", "price", "finds", "?", "zones", "classes", "note", "visit"),
		func(v *inspectionRow, _ int, bad func(string, error) bool) {
			l := Inspection{Name: v.Inspection.Text(), Note: v.Note.Text()}
			failed := false
			check := func(column string, err error) { failed = bad(column, err) || failed }
			if l.Name == "" {
				check("look", errors.New("is blank; every row needs its name"))
			}
			var err error
			l.Price, err = v.Price.Number(0, 1e6)
			check("price", err)
			if l.Finds, err = v.Finds.Fraction(); err == nil && l.Finds == 0 {
				err = errors.New("a chance of 0 means it finds nothing; write a chance above 0")
			}
			check("finds", err)
			if v.Visit.Given() {
				l.Visit, err = v.Visit.YesNo()
				check("visit", err)
			}
			for _, word := range strings.Fields(anyAs(v.Zones.Text(), "")) {
				z, err := damage.ParseZone(word)
				check("zones", err)
				l.Zones = append(l.Zones, z)
			}
			for _, word := range strings.Fields(anyAs(v.Classes.Text(), "")) {
				c, err := damage.ParseClass(word)
				check("classes", err)
				l.Classes = append(l.Classes, c)
			}
			if !failed {
				r.shop.Inspections = append(r.shop.Inspections, l)
			}
		})
}
