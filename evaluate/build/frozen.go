package build

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"

	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// Format and FormatVersion stand at the head of every frozen estimate.
const (
	Format        = "wreckoner frozen estimate"
	FormatVersion = 1
)

// A Frozen is what was believed of a lot when it was bought: all that the same
// figures can be computed from again, and the figures. Money is in pounds unless a
// name says pence. It is not to be changed.
type Frozen struct {
	// Format and Version say what file this is and how it is to be read.
	Format  string `json:"format"`
	Version int    `json:"version"`
	// Tool is the version of the program that wrote it.
	Tool string `json:"tool"`
	// Build is the name that the ledger calls this car by.
	Build string `json:"build"`
	// SaleFile is the lot list, as it was named.
	SaleFile string `json:"sale_file"`
	// Hammer is the price paid.
	Hammer money.Pence `json:"hammer_pence"`
	Seed   uint64      `json:"seed"`
	Points int         `json:"points"`
	// Kept is the lot as read, KeptShop what of the shop its figures come from.
	Kept     LotRecord  `json:"lot"`
	KeptShop ShopRecord `json:"shop"`
	// Outlay is all that is paid to have the car in the yard, OutlayVAT the VAT in
	// it, PurchasePrice what the VAT margin scheme sets against the sale.
	Outlay        money.Pence `json:"outlay_pence"`
	OutlayVAT     money.Pence `json:"outlay_vat_pence"`
	PurchasePrice money.Pence `json:"purchase_price_pence"`
	// Predicted are the distributions, Walk the way to the mean margin.
	Predicted Predicted  `json:"predicted"`
	Walk      WalkRecord `json:"walk"`
	// Digest is the SHA-256 of everything above, in hexadecimal. It finds changes
	// by hand; it is no signature.
	Digest string `json:"digest"`
}

// Freeze returns what the evaluator believes of a lot bought at a hammer price.
// build is the name that the ledger will call it by, tool the program's version.
// It fails where the lot has no damage code or may not be rebuilt, where the price
// is not above 0, and as Prospect does.
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
		Format: Format, Version: FormatVersion, Tool: tool, Build: build, SaleFile: lot.File,
		Hammer: hammer, Seed: e.Options().Seed, Points: e.Options().Points, Kept: keepLot(lot),
	}
	p, err := e.Prospect(lot)
	if err != nil {
		return nil, err
	}
	f.KeptShop = keepShop(e.Shop(), p)
	f.predict(e, p)
	walk, err := e.Walk(lot, hammer)
	if err != nil {
		return nil, err
	}
	f.Walk = keepWalk(walk)
	if f.Digest, err = f.digest(); err != nil {
		return nil, err
	}
	return f, nil
}

// digest is that of the file's content, whatever its spaces and line breaks.
func (f *Frozen) digest() (string, error) {
	bare := *f
	bare.Digest = ""
	text, err := json.Marshal(&bare)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// Evaluator returns one that gives the same figures, to the last bit, as that
// which the estimate was frozen with.
func (f *Frozen) Evaluator() (*evaluate.Evaluator, error) {
	workshop, err := f.Shop()
	if err != nil {
		return nil, err
	}
	return evaluate.New(workshop, evaluate.Options{Seed: f.Seed, Points: f.Points})
}

// deal returns the shop as it was and the car as it could be bought.
func (f *Frozen) deal() (*shop.Shop, *deal.Deal, error) {
	workshop, err := f.Shop()
	if err != nil {
		return nil, nil, err
	}
	lot, err := f.Lot()
	if err != nil {
		return nil, nil, err
	}
	d := lot.Deal(workshop)
	return workshop, &d, nil
}

// Write writes the estimate as JSON, a line for each row of a table.
func (f *Frozen) Write(w io.Writer) error {
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
		if i > 0 {
			b.WriteString(",")
		}
		field := v.Field(i)
		fmt.Fprintf(b, "\n%s %q: ", indent, v.Type().Field(i).Tag.Get("json"))
		switch {
		case tabled(field.Type()):
			if err := layOut(b, field, indent+" "); err != nil {
				return err
			}
		case field.Kind() == reflect.Slice && field.Type().Elem().Kind() == reflect.Struct && field.Len() > 0:
			for k := range field.Len() {
				b.WriteString(map[bool]string{true: "[\n", false: ",\n"}[k == 0] + indent + "  ")
				if err := one(field.Index(k)); err != nil {
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

// tabled reports whether a type is a struct with lists of structs.
func tabled(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && slices.ContainsFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool {
		return f.Type.Kind() == reflect.Slice && f.Type.Elem().Kind() == reflect.Struct
	})
}

// Read reads a frozen estimate; name is the file's in errors. It refuses what is
// no frozen estimate, what another version wrote, and what was altered.
func Read(name string, r io.Reader) (*Frozen, error) {
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
		return nil, fmt.Errorf("%s: is no frozen estimate; wreckoner freeze writes one", name)
	case head.Version != FormatVersion:
		return nil, fmt.Errorf("%s: has format version %d, written by wreckoner %s; this one reads version %d: use the wreckoner that wrote it", name, head.Version, head.Tool, FormatVersion)
	}
	f := &Frozen{}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(f); err != nil {
		return nil, fmt.Errorf("%s: was altered since it was frozen: %s; get the file back from a copy", name, brokenJSON(text, err))
	}
	want, err := f.digest()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if f.Digest != want {
		return nil, fmt.Errorf("%s: was altered since it was frozen: its content does not fit its digest; get the file back from a copy", name)
	}
	if err := f.sound(); err != nil {
		return nil, fmt.Errorf("%s: cannot be computed with: %w", name, err)
	}
	return f, nil
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
