package report

import (
	"fmt"
	"io"

	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
)

// Workings are the sums of one lot from hammer price to margin, line by line.
type Workings struct {
	Lot      *evaluate.Lot
	Workings *deal.Workings
	// At says what the hammer price is.
	At       string
	Currency string
	// OtherVAT says what the margin would be if the shop were registered for VAT, or were
	// not; MarginOtherVAT is that margin, in pounds.
	OtherVAT       string
	MarginOtherVAT float64
}

// Document returns the walk for a person.
func (w *Workings) Document(int) *Document {
	d := &Document{}
	t := tableOf(left(""), right("amount"), wraps("how"))
	for _, s := range w.Workings.Steps {
		if s.Subtotal {
			t.Add("= "+s.Name, s.Amount.String(), "")
			continue
		}
		t.Add("  "+Clean(s.Name), s.Amount.String(), Clean(s.How))
	}
	t.Add("= margin", w.Workings.Total.String(), "the sum of the subtotals")
	d.Show(fmt.Sprintf("Lot %s, %s: from the hammer price to the margin (%s)", Clean(w.Lot.Number), Clean(w.Lot.Car()),
		unit(w.Currency)), t)
	d.Say(fmt.Sprintf("At %s, %s. Damage: %s. Every line is an average; the lines add up to the penny.", w.Workings.Hammer,
		w.At, w.Lot.Code))
	if w.Workings.MayStop() {
		d.Say("Sold on or broken: " + deal.StopCaution + ".")
	}
	if w.OtherVAT != "" {
		d.Say(w.OtherVAT)
	}
	d.Say(Caution)
	return d
}

// Records returns the walk as flat rows.
func (w *Workings) Records() *Records {
	r := &Records{Columns: columnsOf("step* amount subtotal how*")}
	for _, s := range w.Workings.Steps {
		var amount, subtotal any = s.Amount.Pounds(), nil
		if s.Subtotal {
			amount, subtotal = nil, s.Amount.Pounds()
		}
		r.Rows = append(r.Rows, []any{s.Name, amount, subtotal, s.How})
	}
	r.Rows = append(r.Rows, []any{"margin", nil, w.Workings.Total.Pounds(), ""})
	return r
}

// JSON writes the walk as one object.
func (w *Workings) JSON(out io.Writer) error {
	type step struct {
		Step     string  `json:"step"`
		Amount   float64 `json:"amount"`
		Subtotal bool    `json:"subtotal,omitempty"`
		How      string  `json:"how,omitempty"`
	}
	v := struct {
		Lot    string  `json:"lot"`
		Hammer float64 `json:"hammer"`
		At     string  `json:"at"`
		Walk   []step  `json:"walk"`
		Margin float64 `json:"margin"`
		// Other is the margin if vat_registered were the opposite.
		Other float64 `json:"margin_other_vat"`
	}{Lot: w.Lot.Number, Hammer: w.Workings.Hammer.Pounds(), At: w.At, Walk: []step{}, Margin: w.Workings.Total.Pounds(),
		Other: cents(w.MarginOtherVAT)}
	for _, s := range w.Workings.Steps {
		v.Walk = append(v.Walk, step{s.Name, s.Amount.Pounds(), s.Subtotal, s.How})
	}
	return encode(out, v)
}
