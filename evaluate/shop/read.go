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

	"wreckoner/damage/costs"
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

// anyAs returns the text, or star where it is blank or *.
func anyAs(text, star string) string {
	if text == "" || text == "*" {
		return star
	}
	return text
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
