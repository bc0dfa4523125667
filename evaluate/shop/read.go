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

// each reads the rows of one CSV file of the shop. read gets each row, with a check of its cells.
func each[T any](r *shopReader, name string, read func(v *T, k *tabular.Check)) error {
	f, shown, builtIn, err := r.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	r.shop.Sources = append(r.shop.Sources, Source{File: name, BuiltIn: builtIn})
	rows, faults := 0, len(r.problems)
	t, err := tabular.ReadAll(tabular.NewCSV(shown, f), &r.problems, func(v *T, k *tabular.Check) {
		rows++
		read(v, k)
	})
	if t == nil || err != nil {
		return err
	}
	if rows == 0 && len(r.problems) == faults && r.texts == nil {
		message := "has a header and no rows; remove the file to use the starter's"
		if name == AgesFile {
			message = "has a header and no rows; remove the file if age changes nothing"
		}
		r.problems = append(r.problems, tabular.Problem{File: shown, Line: 1, Message: message})
	}
	r.notices = slices.Concat(r.notices, t.Ignored(), t.Notices())
	return nil
}

// Three reads a three-point amount from three cells of those columns.
func Three(low, mid, high tabular.Cell, shape stats.Shape, names [3]string, k *tabular.Check) stats.Amount {
	var x [3]float64
	ok := true
	for i, c := range []tabular.Cell{low, mid, high} {
		var err error
		if x[i], err = c.Number(0, 1e9); k.Bad(names[i], err) {
			ok = false
		}
	}
	if !ok {
		return stats.Amount{}
	}
	a, err := stats.New(x[0], x[1], x[2], shape)
	k.Bad(names[1], err)
	return a
}

// nameless says what to do where a row lacks its name.
const nameless = "every row needs its name"

type segmentRow struct {
	Segment     tabular.Cell `csv:"segment"`
	Spend       tabular.Cell `csv:"spend"`
	Hours       tabular.Cell `csv:"hours"`
	ValueSpread tabular.Cell `csv:"value_spread"`
	S           tabular.Cell `csv:"s,omitempty"`
	C           tabular.Cell `csv:"c,omitempty"`
	R           tabular.Cell `csv:"r,omitempty"`
	M           tabular.Cell `csv:"m,omitempty"`
	E           tabular.Cell `csv:"e,omitempty"`
	Sell        tabular.Cell `csv:"sell,omitempty"`
	Called      tabular.Cell `csv:"called,omitempty"`
	InName      tabular.Cell `csv:"in_name,omitempty"`
}

func (r *shopReader) segments() error {
	return each(r, SegmentsFile, func(v *segmentRow, k *tabular.Check) {
		s := Segment{Name: k.Name("segment", v.Segment, nameless)}
		if _, dup := r.shop.Segment(s.Name); dup {
			k.Bad("segment", fmt.Errorf("%q has two rows; keep one", s.Name))
		}
		if k.Failed {
			return
		}
		s.Spend, s.Hours = multiplier(k, "spend", v.Spend), multiplier(k, "hours", v.Hours)
		for c, cell := range []tabular.Cell{v.S, v.C, v.R, v.M, v.E} { // in the order of classes
			if cell.Given() {
				s.Classes[c] = multiplier(k, damage.Class(c).Letter(), cell)
			}
		}
		if v.Sell.Given() {
			s.Sell = multiplier(k, "sell", v.Sell)
		}
		s.Called, s.InName = names(v.Called), names(v.InName)
		if v.Called.State == tabular.Absent {
			s.Called, s.InName = starterNames(s.Name)
		}
		if s.ValueSpread = k.Number("value_spread", v.ValueSpread, 0, 2); !k.Failed {
			r.shop.Segments = append(r.shop.Segments, s)
		}
	})
}

type categoryRow struct {
	Category   tabular.Cell `csv:"category"`
	Rebuild    tabular.Cell `csv:"rebuild"`
	Low        tabular.Cell `csv:"low"`
	Mid        tabular.Cell `csv:"mid"`
	High       tabular.Cell `csv:"high"`
	Builds     tabular.Cell `csv:"builds"`
	Segment    tabular.Cell `csv:"segment,omitempty"`
	Note       tabular.Cell `csv:"note,omitempty"`
	GuideShare tabular.Cell `csv:"guide_share,omitempty"`
	Sell       tabular.Cell `csv:"sell,omitempty"`
}

func (r *shopReader) categories() error {
	return each(r, CategoriesFile, func(v *categoryRow, k *tabular.Check) {
		c := Category{Name: k.Name("category", v.Category, nameless), Note: v.Note.Text()}
		if k.Failed {
			return
		}
		c.Rebuild = k.YesNo("rebuild", v.Rebuild)
		if c.Rebuild && (strings.EqualFold(c.Name, "A") || strings.EqualFold(c.Name, "B")) {
			r.notices = append(r.notices,
				fmt.Sprintf("%s: category %s is marked as one that may be rebuilt; where A and B are insurers' categories, "+
					"such a car may not go back on the road", r.shown(CategoriesFile), c.Name))
		}
		c.Segment = r.onlySegment(k, v.Segment)
		for _, o := range r.shop.Categories {
			if strings.EqualFold(o.Name, c.Name) && strings.EqualFold(o.Segment, c.Segment) {
				k.Bad("category", fmt.Errorf("%q has two rows for the same car type; keep one", c.Name))
			}
		}
		low, mid, high := k.Share("low", v.Low), k.Share("mid", v.Mid), k.Share("high", v.High)
		c.Builds = k.Number("builds", v.Builds, 0, 1e6)
		if v.GuideShare.Given() {
			c.GuideShare = k.Share("guide_share", v.GuideShare)
		}
		var err error
		c.Sell, err = sellTimes(v.Sell)
		k.Bad("sell", err)
		if !k.Failed {
			c.Share, err = stats.New(low, mid, high, stats.Skewed)
			k.Bad("mid", err)
		}
		if !k.Failed {
			r.shop.Categories = append(r.shop.Categories, c)
		}
	})
}

// onlySegment reads the kind of car that a row is for, "" for any.
func (r *shopReader) onlySegment(k *tabular.Check, c tabular.Cell) string {
	name := anyAs(c.Text(), "")
	if name == "" {
		return ""
	}
	if _, ok := r.shop.Segment(name); !ok {
		var names []string
		for _, s := range r.shop.Segments {
			names = append(names, s.Name)
		}
		k.Bad("segment", tabular.Unknown("car type", name, names))
	}
	return name
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

type feeRow struct {
	Site     tabular.Cell `csv:"site"`
	Fee      tabular.Cell `csv:"fee"`
	From     tabular.Cell `csv:"from,omitempty"`
	Amount   tabular.Cell `csv:"amount,omitempty"`
	Percent  tabular.Cell `csv:"percent,omitempty"`
	VAT      tabular.Cell `csv:"vat,omitempty"`
	Per      tabular.Cell `csv:"per,omitempty"`
	FreeDays tabular.Cell `csv:"free_days,omitempty"`
}

func (r *shopReader) fees() error {
	var bands []Band
	err := each(r, FeesFile, func(v *feeRow, k *tabular.Check) {
		const blank = "write a name, or * for every site"
		b := Band{Site: k.Name("site", v.Site, blank), Fee: strings.ToLower(k.Name("fee", v.Fee, blank))}
		pence := func(column string, c tabular.Cell) money.Pence {
			if !c.Given() {
				return 0
			}
			p, err := money.Parse(c.Text())
			if err == nil && p < 0 {
				err = fmt.Errorf("%q is negative; a fee starts at 0", c.Text())
			}
			k.Bad(column, err)
			return p
		}
		b.From, b.Amount = pence("from", v.From), pence("amount", v.Amount)
		var err error
		if v.Percent.Given() {
			b.Percent, err = money.ParseRate(v.Percent.Text())
			k.Bad("percent", err)
		}
		if v.VAT.Given() {
			b.VAT = k.YesNo("vat", v.VAT)
		}
		b.Per, err = ParsePer(strings.ToLower(v.Per.Text()))
		k.Bad("per", err)
		if v.FreeDays.Given() {
			b.FreeDays = k.Number("free_days", v.FreeDays, 0, 3650)
		}
		if !k.Failed {
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
	SpendLow  tabular.Cell `csv:"spend_low"`
	SpendMid  tabular.Cell `csv:"spend_mid"`
	SpendHigh tabular.Cell `csv:"spend_high"`
	HoursLow  tabular.Cell `csv:"hours_low"`
	HoursMid  tabular.Cell `csv:"hours_mid"`
	HoursHigh tabular.Cell `csv:"hours_high"`
	LeadDays  tabular.Cell `csv:"lead_days"`
	Builds    tabular.Cell `csv:"builds"`
	Basis     tabular.Cell `csv:"basis"`
	Shape     tabular.Cell `csv:"shape,omitempty"`
	Parts     tabular.Cell `csv:"parts,omitempty"`
	Priced    tabular.Cell `csv:"priced,omitempty"`
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
	shown := r.shown(CostsFile)
	err := each(r, CostsFile, func(v *bookRow, k *tabular.Check) {
		row := costs.Row{}
		row.Item, row.Any = item(v.Zone, v.Class, v.Grade, "", "*", k.Bad)
		shape, err := stats.ParseShape(strings.ToLower(v.Shape.Text()))
		k.Bad("shape", err)
		row.Spend = Three(v.SpendLow, v.SpendMid, v.SpendHigh, shape, [3]string{"spend_low", "spend_mid", "spend_high"}, k)
		row.Hours = Three(v.HoursLow, v.HoursMid, v.HoursHigh, shape, [3]string{"hours_low", "hours_mid", "hours_high"}, k)
		row.LeadDays = k.Number("lead_days", v.LeadDays, 0, 3650)
		if v.Parts.Given() {
			row.Common = 1 - k.Share("parts", v.Parts)
		}
		if row.Builds, err = v.Builds.Number(0, 1e6); err == nil && row.Builds == 0 {
			err = errors.New("0 builds carry no weight; write how many builds the row is worth, such as 4")
		}
		k.Bad("builds", err)
		row.Basis = k.Name("basis", v.Basis, "say in words where the figures come from")
		if v.Priced.Given() {
			row.Priced, err = v.Priced.Date()
			k.Bad("priced", err)
		}
		if k.Failed {
			return
		}
		if first, dup := lines[row.Name()]; dup {
			k.Bad("zone", fmt.Errorf("%s already has a row, on line %d; keep one", row.Name(), first))
			return
		}
		lines[row.Name()] = k.Line
		for _, a := range []struct {
			what string
			stats.Amount
		}{{"spend", row.Spend}, {"hours", row.Hours}} {
			if ratio := a.TailRatio(); ratio > stats.WarnRatio {
				r.notices = append(r.notices,
					fmt.Sprintf("%s:%d: %s of %s: one side is %.1f times the other, more than most people mean; check low, mid "+
						"and high", shown, k.Line, a.what, row.Name(), ratio))
			}
		}
		rows = append(rows, row)
	})
	return rows, err
}

// item reads zone, class and grade from three cells, of columns whose names begin with a prefix. star is the word for
// any zone.
func item(zone, class, grade tabular.Cell, prefix, star string,
	bad func(string, error) bool) (i damage.Item, any bool) {
	var err error
	if strings.EqualFold(zone.Text(), star) {
		any = true
	} else if i.Zone, err = damage.ParseZone(zone.Text()); err != nil {
		bad(prefix+"zone", fmt.Errorf("%w, or %s", err, star))
	}
	i.Class, err = damage.ParseClass(class.Text())
	bad(prefix+"class", err)
	n, err := grade.Int(1, damage.GradeCount)
	bad(prefix+"grade", err)
	i.Grade = damage.Grade(n)
	return i, any
}

type ruleRow struct {
	WhenZone  tabular.Cell `csv:"when_zone"`
	WhenClass tabular.Cell `csv:"when_class"`
	WhenGrade tabular.Cell `csv:"when_grade"`
	ThenZone  tabular.Cell `csv:"then_zone"`
	ThenClass tabular.Cell `csv:"then_class"`
	ThenGrade tabular.Cell `csv:"then_grade"`
	Chance    tabular.Cell `csv:"chance"`
	Seen      tabular.Cell `csv:"seen"`
	Segment   tabular.Cell `csv:"segment,omitempty"`
	Why       tabular.Cell `csv:"why,omitempty"`
}

func (r *shopReader) rules() ([]costs.Rule, error) {
	var rules []costs.Rule
	lines := map[string]int{}
	err := each(r, HiddenFile, func(v *ruleRow, k *tabular.Check) {
		rule := costs.Rule{Why: v.Why.Text()}
		rule.When, rule.AnyZone = item(v.WhenZone, v.WhenClass, v.WhenGrade, "when_", "*", k.Bad)
		rule.Then, rule.Same = item(v.ThenZone, v.ThenClass, v.ThenGrade, "then_", "same", k.Bad)
		rule.Segment = r.onlySegment(k, v.Segment)
		rule.Chance = k.Chance("chance", v.Chance, "adds nothing; remove the row")
		rule.Seen = k.Number("seen", v.Seen, 0, 1e6)
		if k.Failed {
			return
		}
		if first, dup := lines[rule.Name()]; dup {
			k.Bad("when_zone", fmt.Errorf("%s is already on line %d; keep one", rule.Name(), first))
			return
		}
		lines[rule.Name()] = k.Line
		rules = append(rules, rule)
	})
	return rules, err
}

type inspectionRow struct {
	Inspection tabular.Cell `csv:"look"`
	Price      tabular.Cell `csv:"price"`
	Finds      tabular.Cell `csv:"finds"`
	Zones      tabular.Cell `csv:"zones,omitempty"`
	Classes    tabular.Cell `csv:"classes,omitempty"`
	Note       tabular.Cell `csv:"note,omitempty"`
	Visit      tabular.Cell `csv:"visit,omitempty"`
}

func (r *shopReader) inspections() error {
	return each(r, InspectionsFile, func(v *inspectionRow, k *tabular.Check) {
		l := Inspection{Name: k.Name("look", v.Inspection, nameless), Note: v.Note.Text()}
		l.Price = k.Number("price", v.Price, 0, 1e6)
		l.Finds = k.Chance("finds", v.Finds, "means it finds nothing; write a chance above 0")
		if v.Visit.Given() {
			l.Visit = k.YesNo("visit", v.Visit)
		}
		for _, word := range strings.Fields(anyAs(v.Zones.Text(), "")) {
			z, err := damage.ParseZone(word)
			k.Bad("zones", err)
			l.Zones = append(l.Zones, z)
		}
		for _, word := range strings.Fields(anyAs(v.Classes.Text(), "")) {
			c, err := damage.ParseClass(word)
			k.Bad("classes", err)
			l.Classes = append(l.Classes, c)
		}
		if !k.Failed {
			r.shop.Inspections = append(r.shop.Inspections, l)
		}
	})
}
