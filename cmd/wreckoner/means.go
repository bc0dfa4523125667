package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
)

// meansOptions say with what money and how many bays a sale is planned.
type meansOptions struct {
	cash, bays           string
	bayValue, moneyValue string
	free, cashIn         []string
	floor                string
	floorDay             string // on which the file of --floor was right, once it is read
}

// mostFloorDays is how many days before the sale the file of --floor may be from: by then cars are sold and bills paid.
const mostFloorDays = 31

// inTime says what is wrong with a --floor that is too old for a sale on a day, or that is later than it.
func (o *meansOptions) inTime(sale time.Time) error {
	asOf, err := time.Parse(time.DateOnly, o.floorDay)
	if o.floorDay == "" || err != nil || sale.Year() <= 1 {
		return nil // no file, or nobody knows the day of the sale
	}
	days := int(sale.Truncate(24*time.Hour).Sub(asOf).Hours() / 24)
	switch day := sale.Format(time.DateOnly); {
	case days > mostFloorDays:
		return usagef("--floor %s: it is as of %s, %d days before the sale on %s: what it has coming has come; write it anew "+
			"with wreckoner floor --for-plan", o.floor, o.floorDay, days, day)
	case days < 0:
		return usagef("--floor %s: it is as of %s, after the sale on %s; is one of the days mistyped?", o.floor, o.floorDay, day)
	}
	return nil
}

func (o *meansOptions) flags(f *pflag.FlagSet) {
	f.StringVar(
		&o.cash,
		"cash",
		"",
		"`POUNDS` that this sale may tie up: price, fees, parts and bought-in work. "+
			"Money that comes in before the parts are paid may count",
	)
	f.StringVar(&o.bays, "bays", "", "`N` free bays")
	f.StringArrayVar(
		&o.free,
		"free",
		nil,
		"`DATE:N`: N more bays are free from that day, as in 2026-06-12:1; may be repeated",
	)
	f.StringArrayVar(
		&o.cashIn,
		"cash-in",
		nil,
		"`DATE:POUNDS`: more money comes in on that day; may be repeated",
	)
	f.StringVar(
		&o.floor,
		"floor",
		"",
		"`FILE` that floor --for-plan wrote: bays and money of the open cars, and when they come free",
	)
	f.StringVar(
		&o.bayValue,
		"bay-value",
		"",
		"`POUNDS` that a bay still free after the sale is worth; without it bay_value of the shop folder",
	)
	f.StringVar(
		&o.moneyValue,
		"money-value",
		"",
		"`POUNDS` that each pound left after the sale is worth above 1; without it money_value of the shop folder",
	)
}

// resources reads them; notices say what the open cars take and bring.
func (o *meansOptions) resources() (plan.Resources, []string, error) {
	r, err := o.typed()
	if err != nil {
		return r, nil, err
	}
	notices, err := o.fromFloor(&r)
	if err != nil {
		return r, nil, err
	}
	return r, notices, o.check(&r)
}

// fromFloor adds what the open cars free, and takes off what they still have to be paid for, as
// floor --for-plan wrote it.
func (o *meansOptions) fromFloor(r *plan.Resources) ([]string, error) {
	if o.floor == "" {
		return nil, nil
	}
	text, err := os.ReadFile(o.floor)
	if err != nil {
		return nil, plainError(err)
	}
	var f floor.Free
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return nil, fmt.Errorf("%s: is not what wreckoner floor --for-plan writes: %w", o.floor, err)
	}
	switch {
	case r.Bays == plan.NoLimit && f.Bays == nil:
		return nil, usagef("--floor %s: it does not say how many bays are free; write --bays, or bays in shop.toml and "+
			"the file anew", o.floor)
	case r.Bays == plan.NoLimit:
		r.Bays = *f.Bays
	}
	o.floorDay = f.AsOf
	if r.Cash != plan.NoLimit {
		r.Cash = max(0, r.Cash-f.ToPay)
	}
	for _, c := range f.Comes {
		if r.Cash == plan.NoLimit {
			c.Cash = 0
		}
		if c.Bays > 0 || c.Cash > 0 {
			r.Growth = append(r.Growth, plan.Change{On: c.On, Bays: c.Bays, Cash: c.Cash})
		}
	}
	return []string{fmt.Sprintf("%s: as of %s; the open cars still need %s on average, which is taken off the money; "+
		"%d bays free",
		o.floor, f.AsOf, money.FromPounds(f.ToPay), r.Bays)}, nil
}

// typed reads what was typed.
func (o *meansOptions) typed() (plan.Resources, error) {
	r := plan.Resources{Bays: plan.NoLimit, Cash: plan.NoLimit}
	var err error
	if o.bays != "" {
		if r.Bays, err = strconv.Atoi(strings.TrimSpace(o.bays)); err != nil || r.Bays < 0 || r.Bays > mostBays {
			return r, usagef("--bays %s: write how many bays are free, such as 4", o.bays)
		}
	}
	if o.cash != "" {
		if r.Cash, err = atHand(o.cash); err != nil {
			return r, usageError{fmt.Errorf("--cash: %w", err)}
		}
	}
	r.Growth, err = o.growth()
	return r, err
}

// growth reads what comes by date.
func (o *meansOptions) growth() ([]plan.Change, error) {
	var all []plan.Change
	for _, x := range o.free {
		on, text, err := change(x)
		n, bad := strconv.Atoi(text)
		if err != nil || bad != nil || n < 1 || n > mostBays {
			return nil, usagef("--free %s: write a day and how many bays, as in 2026-06-12:1", x)
		}
		all = append(all, plan.Change{On: on, Bays: n})
	}
	for _, x := range o.cashIn {
		on, text, err := change(x)
		p, bad := lots.Price(text)
		if err != nil || bad != nil {
			return nil, usagef("--cash-in %s: write a day and an amount, as in 2026-06-12:4000", x)
		}
		all = append(all, plan.Change{On: on, Cash: p.Pounds()})
	}
	return all, nil
}

// mostBays is more than any workshop has.
const mostBays = 10_000

// atHand reads an amount in pounds that may be 0.
func atHand(text string) (float64, error) {
	if p, err := money.Parse(text); err == nil && p == 0 {
		return 0, nil
	}
	p, err := lots.Price(text)
	return p.Pounds(), err
}

// check says where there is nothing to plan with.
func (o *meansOptions) check(r *plan.Resources) error {
	bays, cash := r.Bays, r.Cash
	for _, c := range r.Growth {
		bays, cash = bays+c.Bays, cash+c.Cash
	}
	switch {
	case r.Bays == plan.NoLimit && len(o.free) > 0:
		return usagef("--free adds to --bays; write how many are free today too, as in --bays 0")
	case r.Cash == plan.NoLimit && len(o.cashIn) > 0:
		return usagef("--cash-in adds to --cash; write what there is today too, as in --cash 0")
	case bays == 0:
		return usagef("--bays 0: with no free bay there is nothing to plan; write 1 or more")
	case cash == 0:
		return usagef("--cash 0: with no money there is nothing to plan; write what this sale may tie up, such as 15000")
	}
	return nil
}

// change splits DATE:WHAT.
func change(text string) (on time.Time, what string, err error) {
	i := strings.LastIndexByte(text, ':')
	if i < 0 {
		return on, "", errors.New("no colon")
	}
	for _, layout := range dayAndTime {
		if on, err = time.Parse(layout, strings.TrimSpace(text[:i])); err == nil {
			return on, strings.TrimSpace(text[i+1:]), nil
		}
	}
	return on, "", err
}
