package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
)

// meansOptions say with what money and how many bays a sale is planned.
type meansOptions struct {
	cash, bays           string
	bayValue, moneyValue string
	free, cashIn         []string
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

// resources reads them.
func (o *meansOptions) resources() (plan.Resources, error) {
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
	if r.Growth, err = o.growth(); err != nil {
		return r, err
	}
	return r, o.check(&r)
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
