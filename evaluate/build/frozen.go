package build

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"sync"

	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// Format and FormatVersion are at the head of every frozen estimate. Version 1 files are
// still read: see frozen1.
const (
	Format        = "wreckoner frozen estimate"
	FormatVersion = 2
)

// A Frozen is what was believed of a lot when it was bought: all that the same
// figures can be computed from again, and the figures. Money is in pounds unless a
// name says pence. It is not to be changed.
type Frozen struct {
	// Format and Version say what file this is and how it is to be read.
	Format  string `json:"format"`
	Version int    `json:"version"`
	// Tool is the version of the program that wrote it, and Method that of the model
	// and the simulated streams by which it reached its figures; 0 in a version 1 file,
	// which does not say.
	Tool   string `json:"tool"`
	Method int    `json:"method"`
	// Build is the name that the ledger calls this car by.
	Build string `json:"build"`
	// SaleFile is the lot list, as it was named.
	SaleFile string `json:"sale_file"`
	// Hammer is the price paid, as called: VAT on it is in no figure of this name.
	Hammer money.Pence `json:"hammer_pence"`
	// Seed and Points say which cars are simulated. Simulated says that all figures come
	// from them, rather than only those that depend on what is found.
	Seed      uint64 `json:"seed"`
	Points    int    `json:"points"`
	Simulated bool   `json:"simulated"`
	// Kept is the lot as read, Texts the shop as the files of a shop folder.
	Kept  LotRecord   `json:"lot"`
	Texts []shop.Text `json:"shop"`
	// Outlay is all that is paid to have the car in the yard, OutlayVAT the VAT in
	// it, PurchasePrice what the VAT margin scheme sets against the sale.
	Outlay        money.Pence `json:"outlay_pence"`
	OutlayVAT     money.Pence `json:"outlay_vat_pence"`
	PurchasePrice money.Pence `json:"purchase_price_pence"`
	// Predicted are the distributions, Walk the workings of the mean margin.
	Predicted Predicted  `json:"predicted"`
	Walk      WalkRecord `json:"walk"`
	// Evidence is what evidence said of the lot's prices; nil where there was none. The lot's
	// value, its kind's value_spread and its category's share in the shop are then those used.
	Evidence *EvidenceRecord `json:"evidence,omitempty"`
	// Digest is the SHA-256 of everything above, in hexadecimal. It finds changes
	// by hand; it is no signature.
	Digest string `json:"digest"`

	workshop *shop.Shop // as the texts, or the records of version 1, have it
}

// Freeze returns what the evaluator believes of a lot bought at a hammer price.
// build is the name that the ledger will call it by, tool the program's version.
// It fails where the lot has no damage code or may not be rebuilt, where the price
// is not above 0, and as Resolve does.
func Freeze(e *evaluate.Evaluator, lot *evaluate.Lot, hammer money.Pence, build, tool string) (*Frozen, error) {
	r, err := e.Evaluate(lot)
	if err != nil {
		return nil, err
	}
	switch {
	case !r.Evaluated():
		return nil, fmt.Errorf("lot %s: %s", lot.Number, r.Reason)
	case hammer <= 0:
		return nil, fmt.Errorf("a hammer price of %s: write what was paid", hammer)
	case build == "":
		return nil, fmt.Errorf("lot %s: the build needs a name", lot.Number)
	}
	f := &Frozen{
		Format: Format, Version: FormatVersion, Tool: tool, Method: evaluate.Method, Build: build, SaleFile: lot.File,
		Hammer: hammer,
		Seed:   e.Options().Seed, Points: e.Options().Points, Simulated: e.Drawn() > 0, Kept: keepLot(lot),
	}
	workshop := e.Shop()
	if a := r.Appraisal; a != nil {
		f.Evidence = keepEvidence(a, lot, hammer)
		lot, workshop = a.Used(lot, workshop)
		opt := e.Options()
		opt.Prices = nil
		if e.Drawn() == 0 {
			opt.Points = 0
		}
		if e, err = evaluate.New(workshop, opt); err != nil {
			return nil, err
		}
	}
	if f.Texts, err = workshop.Texts(); err != nil {
		return nil, err
	}
	if f.workshop, err = shop.ReadTexts(f.Texts); err != nil {
		return nil, fmt.Errorf("the workshop's figures cannot be kept: %w", err)
	}
	if err := f.predict(e, lot); err != nil {
		return nil, err
	}
	if r.Appraisal != nil {
		f.Evidence.predicted(r.Appraisal, f)
	}
	if f.Digest, err = f.digest(); err != nil {
		return nil, err
	}
	return f, nil
}

// digest is that of the file's content, whatever its spaces and line breaks.
func (f *Frozen) digest() (string, error) {
	bare := *f
	bare.Digest = ""
	return digestOf(&bare)
}

// Shop returns the shop as it was: of a version 1 file as much of it as the lot's
// figures come from. It is shared, and not to be changed.
func (f *Frozen) Shop() *shop.Shop { return f.workshop }

// Multipliers returns what the cost table was multiplied by on this car.
func (f *Frozen) Multipliers() (shop.Multipliers, error) {
	lot, err := f.Lot()
	if err != nil {
		return shop.Multipliers{}, err
	}
	e, err := evaluate.New(f.workshop, evaluate.Options{Points: 64})
	if err != nil {
		return shop.Multipliers{}, err
	}
	return e.Multipliers(lot)
}

// sellDays returns the days that the car was expected to be for sale, on average.
func (f *Frozen) sellDays() float64 {
	days := f.workshop.SellDays.Mean()
	n, ok := f.workshop.Segment(f.Kept.Segment)
	if !ok {
		return days
	}
	segment := &f.workshop.Segments[n]
	if i, ok := f.workshop.Category(f.Kept.Category, segment.Name); ok {
		days *= shop.SellTimes(&f.workshop.Categories[i], segment)
	}
	return days
}

// Options returns those that the estimate was made with.
func (f *Frozen) Options() evaluate.Options {
	opt := evaluate.Options{Seed: f.Seed}
	if f.Simulated || f.Version == 1 {
		opt.Points = f.Points
	}
	return opt
}

// Evaluator returns one that gives the same figures as that which the estimate was
// frozen with, as long as the method is the same.
func (f *Frozen) Evaluator() (*evaluate.Evaluator, error) {
	return evaluate.New(f.workshop, f.Options())
}

// deal returns the car as it could be bought.
func (f *Frozen) deal() (*deal.Deal, error) {
	lot, err := f.Lot()
	if err != nil {
		return nil, err
	}
	d := lot.Deal(f.workshop)
	return &d, nil
}

// Write writes the estimate as JSON, a line for each row of a table. A file of an
// earlier version is never written again.
func (f *Frozen) Write(w io.Writer) error {
	if f.Version != FormatVersion {
		return fmt.Errorf("an estimate of format version %d is left as it is", f.Version)
	}
	var b bytes.Buffer
	if err := layOut(&b, reflect.ValueOf(f).Elem(), ""); err != nil {
		return err
	}
	b.WriteByte('\n')
	_, err := w.Write(b.Bytes())
	return err
}

// layOut writes a struct with a line for each field, nested structs and the
// elements of lists of structs on lines of their own.
func layOut(b *bytes.Buffer, v reflect.Value, indent string) error {
	one := func(v reflect.Value) error {
		text, err := json.Marshal(v.Interface())
		b.Write(text)
		return err
	}
	b.WriteString("{")
	for i := range v.NumField() {
		field := v.Field(i)
		if !v.Type().Field(i).IsExported() {
			continue
		}
		name, omit := strings.CutSuffix(v.Type().Field(i).Tag.Get("json"), ",omitempty")
		if omit && field.IsZero() {
			continue
		}
		if i > 0 {
			b.WriteString(",")
		}
		fmt.Fprintf(b, "\n%s %q: ", indent, name)
		switch {
		case tabled(field.Type()):
			if err := layOut(b, field, indent+" "); err != nil {
				return err
			}
		case field.Kind() == reflect.Slice && field.Len() > 0 && lined(field.Type().Elem()):
			for k := range field.Len() {
				b.WriteString(map[bool]string{true: "[\n", false: ",\n"}[k == 0] + indent + "  ")
				write := one
				if tabled(field.Type().Elem()) {
					write = func(v reflect.Value) error { return layOut(b, v, indent+"  ") }
				}
				if err := write(field.Index(k)); err != nil {
					return err
				}
			}
			b.WriteString("\n" + indent + " ]")
		default:
			if err := one(field); err != nil {
				return err
			}
		}
	}
	b.WriteString("\n" + indent + "}")
	return nil
}

// tabled reports whether a type is a struct with lists that have a line for each element.
func tabled(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && slices.ContainsFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool {
		return f.IsExported() && f.Type.Kind() == reflect.Slice && lined(f.Type.Elem())
	})
}

// lined reports whether the elements of a list have a line each: structs and texts.
func lined(element reflect.Type) bool {
	return element.Kind() == reflect.Struct || element.Kind() == reflect.String
}

// Read reads a frozen estimate; name is the file's in errors. It refuses what is
// no frozen estimate, what another version wrote, and what was altered.
func Read(name string, r io.Reader) (*Frozen, error) { return new(Reader).Read(name, r) }

// A Reader reads many frozen estimates: those of one shop share it. The zero Reader is
// ready, and safe for concurrent use.
type Reader struct {
	mu    sync.Mutex
	shops map[[sha256.Size]byte]*shop.Shop
}

// shop returns the shop of texts.
func (x *Reader) shop(texts []shop.Text) (*shop.Shop, error) {
	h := sha256.New()
	for _, t := range texts {
		fmt.Fprintf(h, "%q %v %q\n", t.File, t.BuiltIn, t.Lines)
	}
	key := [sha256.Size]byte(h.Sum(nil))
	x.mu.Lock()
	s := x.shops[key]
	x.mu.Unlock()
	if s != nil {
		return s, nil
	}
	s, err := shop.ReadTexts(texts)
	if err != nil {
		return nil, err
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.shops == nil {
		x.shops = map[[sha256.Size]byte]*shop.Shop{}
	}
	x.shops[key] = s
	return s, nil
}

// Read reads one, as the function Read does.
func (x *Reader) Read(name string, r io.Reader) (*Frozen, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
		Tool    string `json:"tool"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return nil, fmt.Errorf("%s: %s", name, brokenJSON(text, err))
	}
	switch {
	case head.Format != Format:
		return nil, fmt.Errorf("%s: is not an estimate; wreckoner freeze writes them", name)
	case head.Version != 1 && head.Version != FormatVersion:
		return nil, &VersionError{name, head.Version, head.Tool}
	}
	f, err := x.decode(name, text, head.Version)
	if err != nil {
		return nil, err
	}
	if err := f.validate(); err != nil {
		return nil, fmt.Errorf("%s: cannot be used: %w", name, err)
	}
	return f, nil
}

// A VersionError says that a frozen estimate has a format version that this program cannot read.
type VersionError struct {
	Name    string
	Version int
	Tool    string
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("%s: has format version %d, written by wreckoner %s; this wreckoner reads versions 1 and %d: "+
		"use the one that wrote it",
		e.Name, e.Version, e.Tool, FormatVersion)
}

// decode reads the text of a frozen estimate of that version, and refuses what was
// altered.
func (x *Reader) decode(name string, text []byte, version int) (*Frozen, error) {
	var f Frozen
	var f1 frozen1
	var into any = &f
	if version == 1 {
		into = &f1
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return nil, fmt.Errorf("%s: was changed after wreckoner wrote it: %s; get the file back from a copy", name,
			brokenJSON(text, err))
	}
	has, digest := f.Digest, f.digest
	if version == 1 {
		has, digest = f1.Digest, f1.digest
	}
	switch want, err := digest(); {
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	case has != want:
		return nil, fmt.Errorf("%s: was changed after wreckoner wrote it: it no longer matches its checksum; get it back "+
			"from a copy", name)
	}
	if version == 1 {
		old, err := f1.frozen()
		if err != nil {
			return nil, fmt.Errorf("%s: cannot be used: %w", name, err)
		}
		return old, nil
	}
	var err error
	if f.workshop, err = x.shop(f.Texts); err != nil {
		return nil, fmt.Errorf("%s: cannot be used: %w", name, err)
	}
	return &f, nil
}

// brokenJSON says where a text stops being JSON.
func brokenJSON(text []byte, err error) string {
	at := int64(-1)
	switch e := err.(type) {
	case *json.SyntaxError:
		at = e.Offset
	case *json.UnmarshalTypeError:
		at = e.Offset
	}
	if at < 0 || at > int64(len(text)) {
		return err.Error()
	}
	return fmt.Sprintf("line %d: %s", 1+bytes.Count(text[:at], []byte("\n")), err)
}
